"""The one reader of our HDF5 files: nothing from outside the file, nothing larger than it may be.

HDF5 can point elsewhere: to datasets whose bytes lie in any other file, to links into other files,
to datasets put together from others. A page to publish must not hold what such a file points to,
so all of it is refused before anything is read; what is left is read only in the shape and kind
that the file's own head and scene ask for.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from photonsim.results.errors import ResultError
from photonsim.results.files.seal import read_sealed
from photonsim.scene import SceneError

# h5py takes 0.03 s of a start, and a trace that is not saved does without.
if TYPE_CHECKING:
    import h5py

# Far above any honest text; a changed length field must not ask for gigabytes.
LONGEST_TEXT = 4_000_000
# A table of a thousand columns has two datasets in each.
MOST_OBJECTS = 10_000
DEEPEST = 4
LARGEST_CHUNK = 1 << 26
# What h5py, numpy and pydantic raise over bytes that make no sense.
UNREADABLE = (
    OSError,
    LookupError,
    ValueError,
    TypeError,
    AttributeError,
    RuntimeError,
    MemoryError,
    ArithmeticError,
)


class Stored:
    """What an open file holds: every dataset by its path, looked at but not read yet."""

    def __init__(self, file: h5py.File, most_bytes: int, file_bytes: int) -> None:
        self._file, self._left, self._file_bytes = file, most_bytes, file_bytes
        self._datasets: dict[str, h5py.Dataset] = {}
        self._groups: dict[str, h5py.Group] = {"": file}
        self._seen: set[int] = set()
        self._look_at(file, "", 0)

    def __contains__(self, name: str) -> bool:
        return name in self._datasets

    def groups(self, name: str) -> list[str]:
        """Return the names of the groups in a group; none where there is no such group."""
        return [path[len(name) + 1 :] for path in self._groups if path.rpartition("/")[0] == name
                and path]  # fmt: skip

    def has(self, name: str) -> bool:
        """Tell whether the file's root has an attribute."""
        return name in self._file.attrs

    def attribute(self, name: str, of: str = "") -> Any:
        """Return an attribute of a group: one whole number, real number or text."""
        import h5py

        kept = h5py.h5a.open(self._groups[of].id, name.encode())
        if kept.shape != () or kept.get_type().get_class() not in (
            h5py.h5t.INTEGER,
            h5py.h5t.FLOAT,
            h5py.h5t.STRING,
        ):
            raise ValueError(f"{name} is neither a number nor a text")
        value = self._groups[of].attrs[name]
        if isinstance(value, bytes):
            return value.decode()
        return value if isinstance(value, str) else np.asarray(value).item()

    def whole_number(self, name: str, of: str = "") -> int:
        """Return an attribute that is a whole number."""
        value = self.attribute(name, of)
        if not isinstance(value, int):
            raise ValueError(f"{name} is no whole number")
        return value

    def words_of(self, name: str, of: str = "") -> str:
        """Return an attribute that is a text."""
        value = self.attribute(name, of)
        if not isinstance(value, str):
            raise ValueError(f"{name} is no text")
        return value

    def text(self, name: str) -> str:
        """Return a dataset that is one text."""
        self._expect(name, (), "text")
        value = self._datasets[name][()]
        if len(value) > LONGEST_TEXT:
            raise ValueError(f"{name} is longer than {LONGEST_TEXT} bytes")
        return value.decode()

    def words(self, name: str, count: int | None = None) -> list[str]:
        """Return a dataset that is a row of texts, `count` of them if that is known."""
        shape = self.shape(name)
        self._expect(name, shape[:1] if count is None else (count,), "text")
        dataset, left, found = self._datasets[name], self._left, []
        # All rows may point at one long text: no block of them can be larger than what is allowed.
        step = max(1, LONGEST_TEXT // self._file_bytes)
        for first in range(0, shape[0], step):
            block = [value.decode() for value in dataset[first : first + step]]
            left -= sum(map(len, block))
            if left < 0:
                raise ValueError(f"{name} is too long")
            found += block
        return found

    def counts(self, name: str, shape: tuple[int, ...]) -> NDArray[np.int64]:
        """Return a dataset of 64-bit whole numbers, which must have this shape."""
        self._expect(name, shape, "whole numbers")
        return self._datasets[name][()]

    def numbers(self, name: str, shape: tuple[int, ...]) -> NDArray[np.float64]:
        """Return a dataset of double precision numbers, which must have this shape."""
        self._expect(name, shape, "real numbers")
        return self._datasets[name][()]

    def shape(self, name: str) -> tuple[int, ...]:
        """Return the shape that a dataset says it has."""
        return self._datasets[name].shape

    def kind(self, name: str) -> str:
        """Return what a dataset holds: text, whole numbers or real numbers."""
        return _kind(self._datasets[name].dtype)

    def _expect(self, name: str, shape: tuple[int, ...], kind: str) -> None:
        if self.kind(name) != kind:
            raise ValueError(f"{name} does not hold {kind}")
        if self.shape(name) != shape:
            raise ValueError(f"{name} has the shape {self.shape(name)} instead of {shape}")

    def _look_at(self, group: h5py.Group, path: str, depth: int) -> None:
        import h5py

        if depth > DEEPEST or len(self._seen) > MOST_OBJECTS:
            raise ResultError("more groups than a file of photonsim has")
        for name in group:
            place = f"{path}/{name}".lstrip("/")
            if type(group.get(name, getlink=True)) is not h5py.HardLink:
                raise ResultError(f"{place} is a link to another place or file")
            item = group[name]
            address = h5py.h5o.get_info(item.id).addr
            if address in self._seen:
                raise ResultError(f"{place} has two names")
            self._seen.add(address)
            if isinstance(item, h5py.Group):
                self._groups[place] = item
                self._look_at(item, place, depth + 1)
            elif isinstance(item, h5py.Dataset):
                self._refuse_unlike_ours(item, place)
                self._datasets[place] = item
            else:
                raise ResultError(f"{place} is nothing that a file of photonsim has")

    def _refuse_unlike_ours(self, item: h5py.Dataset, place: str) -> None:
        """Refuse what does not lie in the file, as it is written here, and is small enough."""
        import h5py

        made = item.id.get_create_plist()
        # The shape is asked for last: of a dataset put together from others it opens those.
        if made.get_layout() not in (h5py.h5d.COMPACT, h5py.h5d.CONTIGUOUS, h5py.h5d.CHUNKED):
            raise ResultError(f"{place} is put together from other files")
        if made.get_external_count():
            raise ResultError(f"{place} lies in another file")
        filters = {made.get_filter(k)[0] for k in range(made.get_nfilters())}
        if filters - {h5py.h5z.FILTER_SCALEOFFSET}:
            raise ResultError(f"{place} is packed as no file of photonsim is")
        kind = _kind(item.dtype)
        if not kind or item.shape is None or item.maxshape != item.shape:
            raise ResultError(f"{place} is nothing that a file of photonsim has")
        width = item.dtype.itemsize
        if width * math.prod(item.chunks or ()) > LARGEST_CHUNK:
            raise ResultError(f"{place} is in pieces larger than any that photonsim writes")
        size = width * math.prod(item.shape)
        if kind == "text" and not item.shape and size > LONGEST_TEXT:
            raise ResultError(f"{place} is longer than any text of photonsim")
        self._left -= size
        if self._left < 0:
            raise ResultError(f"{place} is larger than anything in a file of photonsim")


@contextmanager
def opened(path: Path, what: str, newest: int, most_bytes: int) -> Iterator[Stored]:
    """Open a sealed file of the format `what`, of version `newest` at most.

    `most_bytes` is what all that it holds may take, unpacked. Raises ResultError with one sentence
    where the file is not a sound one; also for whatever the body finds wrong with what it reads.
    """
    content = read_sealed(path, what, most_bytes)
    import h5py

    try:
        with h5py.File(BytesIO(content), "r") as file:
            stored = Stored(file, most_bytes, len(content))
            if stored.attribute("format") != what:
                raise ResultError(f"it is an HDF5 file, but not a {what}")
            if (version := stored.whole_number("format_version")) < 1:
                raise ResultError(f"it has the format version {version}, which there never was")
            if version > newest:
                raise ResultError(
                    f"it has the format version {version}, newer than this program reads "
                    f"({newest}); install a newer photonsim"
                )
            yield stored
    except ResultError as error:
        raise ResultError(f"{path}: is not a sound {what} ({error})") from None
    except SceneError as error:
        raise ResultError(f"{path}: the scene in it is not valid: {error}") from None
    except UNREADABLE as error:
        reason = (str(error).splitlines() or [type(error).__name__])[0]
        raise ResultError(f"{path}: is damaged or not a {what} ({reason})") from None


def _kind(dtype: np.dtype[Any]) -> str:
    """Return what a type of the file is for us; nothing for references and all other kinds."""
    import h5py

    if h5py.check_string_dtype(dtype) is not None:
        return "text"
    # References, lists of any length and named values are told by what h5py adds.
    if dtype.metadata or not dtype.isnative:
        return ""
    return {np.int64: "whole numbers", np.float64: "real numbers"}.get(dtype.type, "")
