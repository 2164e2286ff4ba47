"""A GPU's compiled code on disk: found by the next process, and by nothing else than it is for."""

import sys
from types import SimpleNamespace

import pytest

from photonsim.kernel import kept_code, kept_kernels
from photonsim.kernel.kept_kernels import KeptKernels

TYPES = ("array(float32, 1d, C)", "uint64")


class Kernel:
    """In the place of numba's: what it is made of goes to disk, and is made one again."""

    def __init__(self, code):
        self.code = code

    def _reduce_states(self):
        return {"code": self.code}

    @classmethod
    def _rebuild(cls, code):
        return cls(code)


@pytest.fixture
def gpu(tmp_path, monkeypatch):
    """A folder for compiled code, and what is said of the GPU and its compilers."""
    facts = ["0.30.4", (13, 0), (9, 0)]
    monkeypatch.setattr(kept_code, "folder_of_kept", lambda: tmp_path)
    monkeypatch.setattr(kept_code, "_said", set())
    monkeypatch.setattr(kept_kernels, "_compilers", lambda: facts)
    monkeypatch.setitem(sys.modules, "numba.cuda.dispatcher", SimpleNamespace(_Kernel=Kernel))
    return facts


def test_a_kernel_is_found_again_and_none_for_another_use(gpu):
    KeptKernels("single", 16).save_overload(TYPES, Kernel(b"code"))
    assert KeptKernels("single", 16).load_overload(TYPES, None).code == b"code"
    assert KeptKernels("double", 16).load_overload(TYPES, None) is None
    assert KeptKernels("single", 16).load_overload(TYPES[:1], None) is None
    gpu[-1] = (8, 9)
    assert KeptKernels("single", 16).load_overload(TYPES, None) is None


@pytest.mark.parametrize("spoil", [lambda data: data[:-1], lambda data: b"\0" + data[1:]])
def test_damage_is_told_in_a_line(gpu, tmp_path, capsys, spoil):
    KeptKernels().save_overload(TYPES, Kernel(b"code"))
    (file,) = tmp_path.iterdir()
    file.write_bytes(spoil(file.read_bytes()))
    assert KeptKernels().load_overload(TYPES, None) is None
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and "compiling anew" in said


def test_another_numba_that_makes_kernels_otherwise_has_them_compiled(gpu, monkeypatch, capsys):
    KeptKernels().save_overload(TYPES, Kernel(b"code"))
    monkeypatch.delattr(Kernel, "_rebuild")
    assert KeptKernels().load_overload(TYPES, None) is None
    assert "compiling anew" in capsys.readouterr().err
    monkeypatch.delattr(Kernel, "_reduce_states")
    KeptKernels().save_overload(TYPES, Kernel(b"code"))
    assert "is not kept" in capsys.readouterr().err
