"""Compiled code on disk that may be damaged, and a disk that may be full: then it is compiled anew.

numba's own cache believes what it finds: of ten kinds of damage nine broke every run until the
folder was deleted by hand, and a changed byte was run as code. So a digest stands before what each
file holds, and whatever goes wrong with the files is told in a line and done without.
"""

from __future__ import annotations

import hashlib
import pickle
import sys
from pathlib import Path
from typing import Any

from numba.core.caching import FunctionCache, IndexDataCacheFile

DIGEST_BYTES = 32
_said: set[str] = set()


def say_once(line: str) -> None:
    """Tell something about the cache, once a process."""
    if line not in _said:
        _said.add(line)
        print(line, file=sys.stderr, flush=True)


class DamagedError(ValueError):
    """A file of the cache does not hold what was written."""


class _SealedFiles(IndexDataCacheFile):
    """numba's two kinds of cache file, each behind the digest of what it holds."""

    def _load_index(self) -> dict[Any, str]:
        if not Path(self._index_path).exists():
            return {}
        version, stamp, overloads = _unsealed(Path(self._index_path))
        return overloads if (version, stamp) == (self._version, self._source_stamp) else {}

    def _save_index(self, overloads: dict[Any, str]) -> None:
        content = self._dump((self._version, self._source_stamp, overloads))
        with self._open_for_write(self._index_path) as file:
            file.write(_sealed(content))

    def _load_data(self, name: str) -> Any:
        return _unsealed(Path(self._data_path(name)))

    def _save_data(self, name: str, data: Any) -> None:
        with self._open_for_write(self._data_path(name)) as file:
            file.write(_sealed(self._dump(data)))


class KeptCode(FunctionCache):
    """The cache of one function: what can't be read is compiled, what can't be written is not kept.

    Raises OSError or RuntimeError where numba finds no place for it.
    """

    def __init__(self, function: Any) -> None:
        super().__init__(function)
        plain = self._cache_file
        self._cache_file = _SealedFiles(
            cache_path=self._cache_path,
            filename_base=self._impl.filename_base,
            source_stamp=plain._source_stamp,
        )

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return the compiled function, or None where it has to be compiled."""
        try:
            return super().load_overload(sig, target_context)
        except Exception as error:  # unpickling damaged bytes raises anything at all
            say_once(f"compiled code in {self._cache_path} can't be used ({_reason(error)}); "
                     "compiling anew")  # fmt: skip
            self._forget()
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep a compiled function, if there is a place to."""
        try:
            super().save_overload(sig, data)
        except Exception as error:
            say_once(f"compiled code is not kept in {self._cache_path} ({_reason(error)})")
            self._forget()

    def _forget(self) -> None:
        """Take away the files of this function: the next run would stumble over them again."""
        for path in Path(self._cache_path).glob(f"{self._impl.filename_base}.*"):
            try:
                path.unlink()
            except OSError:
                continue


def _sealed(content: bytes) -> bytes:
    return hashlib.sha256(content).digest() + content


def _unsealed(path: Path) -> Any:
    """Return what a file holds. Raises DamagedError, before anything in it is believed."""
    content = path.read_bytes()
    digest, content = content[:DIGEST_BYTES], content[DIGEST_BYTES:]
    if hashlib.sha256(content).digest() != digest:
        raise DamagedError(f"{path.name} is damaged")
    return pickle.loads(content)


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or (str(error).splitlines() or [repr(error)])[0]
