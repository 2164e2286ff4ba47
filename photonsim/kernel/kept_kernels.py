"""A GPU's compiled code on disk, found again without numba's compiler: see kept_code.

numba's own cache is of no use here: it looks at the date of one file, while a kernel folds in what
stands in others, and at what a closure holds, which is other bytes in each process.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import zlib
from typing import Any

from photonsim.kernel.kept_code import keep, kept, say_once


class KeptKernels:
    """Where a dispatcher of numba-cuda looks for its kernels, and leaves those it has compiled.

    `about` is what they depend on besides their sources, their arguments' types, the GPU and what
    compiles them.
    """

    def __init__(self, *about: object) -> None:
        self._about = about

    def load_overload(self, types: Any, context: Any) -> Any:
        """Return the kernel for arguments of such types; None where it has to be compiled."""
        content = kept(self._name(types))
        if content is None:
            return None
        from numba.cuda.dispatcher import _Kernel

        try:
            return _Kernel._rebuild(**pickle.loads(zlib.decompress(content)))
        except Exception as error:
            say_once(f"compiled code for the GPU can't be used ({error}); compiling anew")
            return None

    def save_overload(self, types: Any, kernel: Any) -> None:
        """Keep a kernel that was compiled for arguments of such types."""
        try:
            content = pickle.dumps(kernel._reduce_states())
        except Exception as error:
            say_once(f"compiled code for the GPU is not kept ({error})")
        else:
            keep(self._name(types), zlib.compress(content, 1))

    def _name(self, types: Any) -> str:
        texts = map(str, (*self._about, *types, *_compilers()))
        return f"cuda-{hashlib.sha256(chr(10).join(texts).encode()).hexdigest()[:16]}"


def _compilers() -> list[Any]:
    """Return the GPU of this thread and all that makes and loads code for it."""
    import numba
    import numba_cuda
    from numba import cuda
    from numba.cuda.cudadrv.driver import driver

    versions = numba.__version__, numba_cuda.__version__
    settings = sorted(f"{k}={v}" for k, v in os.environ.items() if k.startswith("NUMBA_"))
    gpu = cuda.get_current_device().compute_capability
    return [*versions, cuda.runtime.get_version(), driver.get_version(), gpu, *settings]
