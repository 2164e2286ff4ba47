"""Tallies are declared once: rows, file, soundness and documentation follow from the table."""

from pathlib import Path

import numpy as np
import pytest

import photonsim
from photonsim.engine import trace
from photonsim.kernel.tallies import MAP_TALLIES, TALLIES, named
from photonsim.results.files.layout import axes_of, datasets_of
from photonsim.results.files.soundness import counts_of
from tests.house import copied_to, edit, run_in
from tests.shipped import scene

PAGE = Path(photonsim.__file__).parent / "results" / "README.md"
ENTRY = """    Tally("halves", (LIGHT, named("half", "left right")), ARRIVAL, "halves", "lights"),
    Tally("fates","""
COLUMN = """    halves = COLUMN["halves"] - first
    plane_x, plane_y"""
ADDS = """        add(counts, unsigned(halves + 2 * goes_on + bin_of(across, 2)), 1)
        cell = bin_of(up"""
READS = """
import sys
import numpy as np
from photonsim import load_result, load_scene, trace
scene = load_scene(sys.argv[1])
for device in ("cpu", "cuda"):
    trace(scene, 400, device=device, precision="double", save_to=f"{device}.h5", guide="off")
ours, theirs = (load_result(f"{device}.h5").tallies for device in ("cpu", "cuda"))
halves, profile = ours.batches["halves"], ours.batches["profile_x"]
assert halves.sum() > 0
assert (halves[..., 0] == profile[..., :64].sum(axis=2)).all()
assert (halves[..., 1] == profile[..., 64:].sum(axis=2)).all()
assert (halves == theirs.batches["halves"]).all()
"""


def documented():
    """The rows of the table on the page about results that follow from the tallies."""
    for tally in TALLIES:
        names = [axis.name for axis in tally.axes]
        places = [tally.place]
        if "{}" in tally.place:
            places = [tally.place.format(word) for word in tally.axes[-1].words]
            names.pop()
        elif tally not in MAP_TALLIES:
            names.insert(0, "batch")
        shown = ", ".join(f"`{place}`" for place in places)
        yield f"| {shown} | {', '.join(names)} | {tally.holds} |"


def test_the_table_of_the_page_is_that_of_the_tallies():
    text = PAGE.read_text(encoding="utf-8")
    table = "\n".join(documented())
    assert table in text, f"results/README.md, the file, should have:\n{table}"


@pytest.mark.parametrize("letter", ["d", "h"])
def test_every_array_has_the_axes_it_names(letter):
    result = trace(scene(letter), photons=1000)
    axes = axes_of(result)
    for path, array, names, _ in datasets_of(result.tallies):
        assert array.shape == tuple(len(axes[name][0]) for name in names), path


def test_bins_stand_by_their_middles():
    axes = axes_of(trace(scene("d"), photons=1))
    np.testing.assert_array_equal(axes["polar_deg"][0], np.arange(90) + 0.5)
    np.testing.assert_array_equal(axes["plane_deg"][0], np.arange(-89.0, 90.0, 2.0))
    np.testing.assert_array_equal(axes["spot_x"][0], np.arange(-31.5, 32.0))
    assert axes["cell_x"][0][4] == 0.0


def test_only_counts_must_not_be_negative():
    tally = next(tally for tally in TALLIES if tally.name == "colours")
    array = np.arange(2 * 3 * 3 * 9 * 9).reshape(2, 3, 3, 9, 9)
    np.testing.assert_array_equal(counts_of(tally, array), array[:, :, :1])
    assert named("sums", "photons dx dy", counts="photons").counts == (0,)


def test_a_new_tally_takes_an_entry_and_the_line_that_adds(tmp_path):
    """One array more, by batch: counted alike by processor and (simulated) GPU, kept, read."""
    house = copied_to(tmp_path)
    edit(house / "photonsim/kernel/tallies.py", ('    Tally("fates",', ENTRY))
    counting = house / "photonsim/kernel/counting.py"
    edit(counting, ("    plane_x, plane_y", COLUMN), ("        cell = bin_of(up", ADDS))
    path = Path(__file__).parents[2] / "scenes" / "b_diffuser.toml"
    simulated = {"NUMBA_ENABLE_CUDASIM": "1", "NUMBA_DISABLE_JIT": "1"}
    run_in(house, "-c", READS, str(path), **simulated)
