"""Where tables and demo jobs lie: beside a checkout, inside an installed wheel, and in the person's own folders."""

from __future__ import annotations

import os
import sys
from functools import cache
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def _shipped(name: str) -> Path:
    """Folder `name` inside the installed package, or beside it in a checkout."""
    packed = _PACKAGE / "_data" / name
    return packed if packed.is_dir() else _PACKAGE.parent / name


def data_root() -> Path:
    """Give the folder of the shipped tables.

    Returns: ``millcalc/_data/materials`` in an installed wheel, else the checkout's ``materials``.
    """
    return _shipped("materials")


def demo_root() -> Path:
    """Give the folder of the shipped demo jobs.

    Returns: ``millcalc/_data/demo_jobs`` in an installed wheel, else the checkout's ``demo_jobs``.
    """
    return _shipped("demo_jobs")


def config_root() -> Path:
    """Give the folder of the person's own settings; it need not exist.

    Returns: ``millcalc`` below APPDATA on Windows, ``~/Library/Application Support`` on a Mac, and
      XDG_CONFIG_HOME or ``~/.config`` elsewhere.
    """
    home = Path.home()
    if sys.platform == "win32":
        given = os.environ.get("APPDATA", "")
        base = Path(given) if given else home / "AppData" / "Roaming"
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        given = os.environ.get("XDG_CONFIG_HOME", "")
        base = Path(given) if given and Path(given).is_absolute() else home / ".config"
    return base / "millcalc"


def search_roots(start: Path | None = None) -> tuple[Path, ...]:
    """List the folders searched for tables, the first to hold a name winning.

    start: Working folder; None takes the current one.
    Returns: ``materials`` in the working folder, ``materials`` in the person's settings, the shipped
      tables; only folders that exist, each once.
    """
    here = Path.cwd() if start is None else start
    folders = (here / "materials", config_root() / "materials", data_root())
    there = [folder for folder in folders if folder.is_dir()]
    if len(there) < 2:
        return tuple(there)
    roots: dict[str, Path] = {}
    for folder in there:
        roots.setdefault(os.path.realpath(folder), folder)
    return tuple(roots.values())


def is_shipped(path: Path) -> bool:
    """Tell whether a table file is one of the shipped ones.

    path: A table file.
    Returns: True when it lies below the folder of shipped tables.
    """
    return path.resolve().is_relative_to(_resolved(data_root()))


@cache
def _resolved(folder: Path) -> Path:
    return folder.resolve()
