"""A result of photonsim 0.3.0, version 1 of the file, as that version wrote it; packed by xz.

Traced by 0.3.0 from a scene of its own: the anastigmat's lamp with a Fresnel field lens, grooves to
the lamp, and a panel of 18 x 9 pixels; 9,000 photons, seed 5.
"""

import lzma
from pathlib import Path

PACKED = Path(__file__).with_name("lantern_0.3.0.h5.xz")
PHOTONS, SEED = 9000, 5


def unpacked(folder: Path) -> Path:
    """Put the file into a folder and return its place."""
    path = folder / "lantern.h5"
    path.write_bytes(lzma.decompress(PACKED.read_bytes()))
    return path
