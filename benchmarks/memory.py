"""Whether memory grows with photons: the peak of a process of its own that traces so many.

Read by that process at its end, from the system's own account of peaks.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from benchmarks.findings import Claim, Findings, table
from benchmarks.timing import tell
from benchmarks.tracing import shipped_scene
from photonsim.scene import Scene

SCENE = "d_split_film"
COUNTS = (10**6, 10**7)
LONG_COUNT = 10**9
# Full HD, the finest panel that a projector of this kind is built with.
FINE = (1920, 1080)
# From the fewest to the most photons. Between equal runs the peak differs by a few per cent: how
# far the allocator reaches is luck.
MOST_GROWTH = 1.05


def memory(long: bool = False, counts: Sequence[int] = COUNTS) -> Findings:
    """Measure the peak on the shipped panel and on a fine one; `long` adds 10⁹ photons."""
    counts = [*counts, LONG_COUNT] if long else counts
    findings = Findings("Peak memory")
    rows = []
    coarse = shipped_scene(SCENE).panel
    # The compiler needs memory of its own: let it be done.
    peak_in_process(coarse.columns, coarse.rows, 1)
    for columns, row_count in ((coarse.columns, coarse.rows), FINE):
        peaks = []
        for photons in counts:
            tell(f"memory: {photons:.0e} photons on {columns} x {row_count} pixels")
            peaks.append(peak_in_process(columns, row_count, photons))
        panel = f"{columns} x {row_count}"
        rows.append((panel, *(f"{peak / 1e6:.0f}" for peak in peaks)))
        findings.claims.append(
            Claim(
                f"memory on {panel}: {counts[-1]:.0e} / {counts[0]:.0e} photons",
                peaks[-1] / peaks[0],
                MOST_GROWTH,
                least=False,
            )
        )
        findings.data[panel] = dict(zip((str(count) for count in counts), peaks, strict=True))
    head = ("panel; MB at peak", *(f"{count:.0e} photons" for count in counts))
    findings.tables.append(table(head, rows))
    return findings


def peak_in_process(columns: int, rows: int, photons: int) -> int:
    """Return the peak resident bytes of a fresh process that traces so many photons."""
    command = [sys.executable, "-m", "benchmarks.memory", str(columns), str(rows), str(photons)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return int(found["peak_bytes"])


def with_panel(scene: Scene, columns: int, rows: int) -> Scene:
    """Return a scene whose panel is counted on another grid."""
    panel = scene.panel.model_copy(update={"columns": columns, "rows": rows})
    return scene.model_copy(update={"train": scene.train | {scene.panel_name: panel}})


def peak_bytes() -> int:
    """Return the peak resident memory of this process so far.

    Raises ImportError on Windows without psutil.
    """
    if sys.platform == "win32":
        import psutil

        return int(psutil.Process().memory_info().peak_wset)
    if sys.platform == "linux":
        # Not getrusage: there a process is charged with the peak of the one that started it.
        status = Path("/proc/self/status").read_text(encoding="ascii")
        (peak,) = (line.split()[1] for line in status.splitlines() if line.startswith("VmHWM"))
        return 1024 * int(peak)
    import resource

    # Bytes on macOS.
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def main() -> None:
    """Trace as the arguments say and print the peak: what `peak_in_process` runs."""
    from photonsim.engine import trace

    columns, rows, photons = (int(argument) for argument in sys.argv[1:])
    trace(with_panel(shipped_scene(SCENE), columns, rows), photons=photons)
    print(json.dumps({"peak_bytes": peak_bytes()}))


if __name__ == "__main__":
    main()
