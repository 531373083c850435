"""The one way a numba kernel is made: compiled on first use, cached, in the platform's cache folder if need be.

Takes nothing of ours. Set ``NUMBA_DISABLE_JIT=1`` to run every kernel as plain Python.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

Function = TypeVar("Function", bound=Callable[..., Any])


def cache_folder() -> Path:
    """Folder for compiled kernels when the package folder cannot be written.

    Returns
    -------
    Path
        A folder of the platform's cache location.
    """
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "millcalc" / "kernels"


if "NUMBA_CACHE_DIR" not in os.environ and not os.access(Path(__file__).parent, os.W_OK):
    os.environ["NUMBA_CACHE_DIR"] = str(cache_folder())

import numba  # noqa: E402


def kernel(function: Function) -> Function:
    """Compile a function with numba on first use and keep the result on disk.

    Parameters
    ----------
    function : callable
        Plain Python over numbers, tuples and numpy arrays.

    Returns
    -------
    callable
        The compiled function, typed as the plain one.
    """
    return cast(Function, numba.njit(cache=True)(function))
