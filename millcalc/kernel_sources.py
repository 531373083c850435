"""Which sources a kernel's compiled form was made of: its own module and what that imports of the package.

numba asks only whether the kernel's own file has changed.  A limit or a part that comes from another module is
compiled in, so that after an update of that module alone the old limit would go on being used.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

PACKAGE_FOLDER = Path(__file__).parent
_IMPORT = re.compile(r"^from (millcalc[\w.]*) import (\([^)]*\)|.*)", re.MULTILINE)


def sources_of(path: Path) -> frozenset[Path]:
    """The modules that a kernel module is compiled from.

    path: The kernel module's file.
    Returns: That file and the files of the package that it imports at its top level, and what these import. A
      package's own ``__init__`` stays out: it holds no kernel and no number.

    Raises: OSError when a file cannot be read.
    """
    found = {path}
    open_ends = [path]
    while open_ends:
        fresh = _imported(open_ends.pop()) - found
        found |= fresh
        open_ends += fresh
    return frozenset(found)


@cache
def _imported(path: Path) -> frozenset[Path]:
    """Files of the package that one module imports at its top level."""
    named = set()
    for module, names in _IMPORT.findall(path.read_text(encoding="utf-8")):
        named |= {module, *(f"{module}.{name}" for name in re.findall(r"\w+", names))}
    files = (PACKAGE_FOLDER.parent.joinpath(*name.split(".")).with_suffix(".py") for name in named)
    return frozenset(file for file in files if file.is_file())


@cache
def stamp_of(path: Path) -> tuple[tuple[str, int, int], ...]:
    """What changes when any source of a kernel module does.

    path: The kernel module's file.
    Returns: Name, time of change (ns) and size (bytes) of each source, as they were when first asked: what a process
      has imported stays.

    Raises: OSError when a file cannot be read.
    """
    states = ((source.name, source.stat()) for source in sorted(sources_of(path)))
    return tuple((name, state.st_mtime_ns, state.st_size) for name, state in states)
