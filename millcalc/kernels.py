"""Compiled kernels: the one decorator they all use, and where their compiled form is kept.

Kernels live in modules named ``*_kernels.py`` and are compiled by numba on their first call; the compiled
form is cached on disk.  In a read-only installation the cache goes to the platform's cache folder.
Importing this module does not import numba; using the decorator does.
"""

from __future__ import annotations

import importlib
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

from millcalc.kernel_cache import LIGHT_WITH, mend
from millcalc.kernel_sources import PACKAGE_FOLDER, sources_of

F = TypeVar("F", bound=Callable[..., Any])


def cache_folder() -> Path:
    """The platform's folder for files that can be made again, with our own name in it.

    Returns: The folder; it need not exist yet.
    """
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "millcalc"


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _shared(folder: Path) -> bool:
    """Whether others than this account could put a file there: what is loaded from it runs as this account."""
    if not hasattr(os, "getuid"):  # Windows: the folder lies in the account's own profile
        return False
    state = folder.stat()
    return state.st_uid != os.getuid() or bool(state.st_mode & 0o022)


def _prepare() -> bool:
    """Choose where compiled kernels are kept before numba is imported; False when nowhere is writable."""
    if chosen := os.environ.get("NUMBA_CACHE_DIR"):
        return _writable(Path(chosen))
    if _writable(PACKAGE_FOLDER / "__pycache__"):
        return True
    folder = cache_folder() / "kernels"
    if not _writable(folder) or _shared(folder):
        return False
    os.environ["NUMBA_CACHE_DIR"] = str(folder)
    if "numba" in sys.modules:
        config: Any = importlib.import_module("numba.core.config")
        config.CACHE_DIR = str(folder)
    return True


_cached: bool | None = None


def can_keep() -> bool:
    """Whether compiled kernels can be kept on disk, so that another process finds them."""
    global _cached
    if _cached is None:
        _cached = _prepare()
    return _cached


def kernel(function: F) -> F:
    """Compile a function with numba, cached on disk where a folder is writable.

    function: Plain Python in numba's subset: numbers, tuples and numpy arrays only.
    Returns: The compiled function; for the type checker it is the function itself.

    Note: It runs without the interpreter's lock, so that other threads (Ctrl-C, progress) go on.
      With ``NUMBA_DISABLE_JIT=1`` in the environment numba returns the plain function unchanged.
    """
    return _compiled(function, inner=False)


def inner_kernel(function: F) -> F:
    """Compile a function that only other kernels call: without the door for Python, which takes time to compile.

    function: Plain Python as for ``kernel``. An ``int(CONSTANT)`` where one is called keeps numba from compiling a
      form of its own for each constant.
    Returns: The compiled function. Python must not call it: numba ends the process (tests/helpers/inner.py can).
    """
    return _compiled(function, inner=True)


def _compiled(function: F, *, inner: bool) -> F:
    kept = can_keep()
    numba = _numba()
    compiled = numba.njit(cache=kept, nogil=True, no_cfunc_wrapper=True, no_cpython_wrapper=inner)(function)
    source = Path(function.__code__.co_filename)
    mend(getattr(compiled, "_cache", None), source, lightly=numba.__version__ in LIGHT_WITH)
    return cast(F, compiled)


def _numba() -> Any:
    """numba, without the measuring of test coverage: where that is installed numba imports it, running or not."""
    modules: dict[str, Any] = sys.modules
    if "numba" in modules or "coverage" in modules or os.environ.get("NUMBA_JIT_COVERAGE"):
        return importlib.import_module("numba")
    modules["coverage"] = None  # as if it were not installed
    try:
        return importlib.import_module("numba")
    finally:
        del modules["coverage"]


def needs_compile(*modules: str) -> bool:
    """Whether any kernel module has no up-to-date compiled form on disk, so that the next use compiles.

    *modules: File stems such as ``read_kernels``; all ``*_kernels.py`` of the package when none is named.
    Returns: True when the first use will take seconds to compile; False also when compiling is switched
      off.
    """
    if os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"):
        return False
    sources = [path for path in PACKAGE_FOLDER.rglob("*_kernels.py") if not modules or path.stem in modules]
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    places = [Path(chosen)] if chosen else [PACKAGE_FOLDER, cache_folder() / "kernels"]
    places = [place for place in places if place.is_dir()]
    for source in sources:
        stamp = max(part.stat().st_mtime for part in sources_of(source))
        made = [index.stat().st_mtime for place in places for index in place.rglob(f"{source.stem}.*.nbi")]
        if not made or max(made) < stamp:
            return True
    return False
