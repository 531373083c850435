"""How a kernel's compiled form comes off the disk: made again where it is damaged, loaded with little ceremony.

What numba does on the way and a kernel that is only called does not need: filling its tables of types, for which it
imports SciPy; parsing the kernel's intermediate code, which only compiling another kernel around it asks for; importing
the modules that inlined parts come from. Loading takes half of the time without. It rests on parts of numba that may
change, so it is done only with a numba it was tried with; whatever goes wrong, numba's own way follows.
"""

from __future__ import annotations

import importlib
import pickle
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from millcalc.kernel_sources import stamp_of

# numba with which loading lightly was tried (tests/test_kernels.py); any other loads as numba does it
LIGHT_WITH = ("0.68.1",)

_PARTS = ("_cache_file", "_index_key", "_load_overload", "load_overload", "save_overload", "flush")


def mend(cache: Any, source: Path, *, lightly: bool) -> None:
    """Let a kernel's compiled form be made again where it is damaged or out of date, and be loaded lightly.

    cache: numba's cache of one kernel; anything that is not made as expected stays as it is.
    source: The kernel module's file: what it imports of the package is compiled in and counts as well.
    lightly: Whether to leave out what only compiling needs.
    """
    if not all(hasattr(cache, name) for name in _PARTS):
        return
    with suppress(OSError):  # no file of its own, in an archive: numba knows how to tell
        cache._cache_file._source_stamp = stamp_of(source)
    ordinary, save = cache.load_overload, cache.save_overload

    def light(signature: Any, context: Any) -> Any:
        return _light(cache, signature, context)

    def load(signature: Any, context: Any) -> Any:
        for way in (light, ordinary) if lightly else (ordinary,):
            with suppress(Exception):  # a truncated pickle raises anything
                return way(signature, context)
        with suppress(OSError):
            cache.flush()
        return None

    def keep(signature: Any, data: Any) -> None:
        with suppress(Exception):  # not kept: the kernel has been compiled and works all the same
            save(signature, data)

    cache.load_overload, cache.save_overload = load, keep


def _light(cache: Any, signature: Any, context: Any) -> Any:
    """The compiled form of one signature, its intermediate code unparsed; None when none is kept."""
    runtime: Any = importlib.import_module("numba.core.runtime")
    compiler: Any = importlib.import_module("numba.core.compiler")
    runtime.rtsys.initialize(context)
    codegen = context.codegen()
    file = cache._cache_file
    kept = file._load_index().get(cache._index_key(signature, codegen))
    if kept is None:
        return None
    with Path(file._data_path(kept)).open("rb") as data:
        (name, kind, (machine_code, between)), described, *rest = _Unpickler(data).load()
    # numba looks both up by name, and knows the names that it has read in the intermediate code
    codegen._engine._defined_symbols |= {described.llvm_func_name, described.llvm_cpython_wrapper_name}
    made = compiler.CompileResult._rebuild(
        context, (name, kind, (machine_code, _nothing())), described, *rest
    )
    _parse_when_linked(made.library, between)
    return made


class _Unpickler(pickle.Unpickler):
    """Reads what numba has kept; the surroundings of inlined parts without importing the modules they come from."""

    def find_class(self, module: str, name: str) -> Any:
        """What a name in the data stands for."""
        found = super().find_class(module, name)
        return _surroundings if name == "_rebuild_env" else found


def _surroundings(module: str, constants: list[Any], name: str) -> Any:
    """Constants of an inlined part; the globals beside them are for interpreted code, which no kernel has."""
    environment: Any = importlib.import_module("numba.core.environment")
    if module in sys.modules or not module.startswith("numba."):
        return environment._rebuild_env(module, constants, name)
    if (known := environment.lookup_environment(name)) is not None:
        return known
    made = environment.Environment({"__name__": module})
    made.consts[:] = constants
    made.env_name = name
    environment.Environment._memo[name] = made
    return made


def _parse_when_linked(library: Any, between: bytes) -> None:
    """Read the intermediate code of a loaded kernel only when another kernel is compiled around it."""

    def linked() -> Any:
        binding: Any = importlib.import_module("llvmlite.binding")
        module = binding.parse_bitcode(between)
        library._shared_module = module
        library.codegen._engine._load_defined_symbols(module)
        del library._get_module_for_linking  # the class's own from now on
        return module

    library._get_module_for_linking = linked


_empty: bytes | None = None


def _nothing() -> bytes:
    """Intermediate code of an empty module."""
    global _empty
    if _empty is None:
        binding: Any = importlib.import_module("llvmlite.binding")
        _empty = binding.parse_assembly("").as_bitcode()
    return _empty
