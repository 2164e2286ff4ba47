"""A result and a study of photonsim 0.3.0 as that version wrote them; packed by xz.

Traced by 0.3.0 from a scene of its own: the anastigmat's lamp with a Fresnel field lens, grooves to
the lamp, and a panel of 18 x 9 pixels; 9,000 photons, seed 5. The study is a sweep of its film's
height, 8 and 12 mm.
"""

import lzma
from pathlib import Path

RESULT, STUDY = "lantern_0.3.0.h5.xz", "lantern_sweep_0.3.0.h5.xz"
PHOTONS, SEED = 9000, 5


def unpacked(folder: Path, name: str = RESULT) -> Path:
    """Put a file into a folder and return its place."""
    path = folder / f"{name.partition('_0')[0]}.h5"
    path.write_bytes(lzma.decompress(Path(__file__).with_name(name).read_bytes()))
    return path
