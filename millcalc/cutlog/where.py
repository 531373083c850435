"""Where the log lies: the file asked for, the job folder's own log, or the platform's data folder."""

from __future__ import annotations

import getpass
import os
import sys
from collections.abc import Mapping
from pathlib import Path

FILE_NAME = "cuts.db"
VARIABLE = "MILLCALC_LOG"


def data_folder(
    environment: Mapping[str, str] | None = None, platform: str = sys.platform, home: Path | None = None
) -> Path:
    """Folder for data that belongs to the person, by the custom of the platform; it is not created.

    environment: Environment variables; the process's own when left out.
    platform: As ``sys.platform``.
    home: The person's home folder; found by the standard library when left out.
    Returns: ``%LOCALAPPDATA%\\millcalc``, ``~/Library/Application Support/millcalc``, or
      ``$XDG_DATA_HOME/millcalc`` with ``~/.local/share`` as its default.

    Source: XDG Base Directory Specification, version 0.8 (relative paths in the variable are ignored).
    """
    env = os.environ if environment is None else environment
    at_home = Path.home() if home is None else home
    if platform == "win32":
        local = env.get("LOCALAPPDATA", "")
        return (Path(local) if local else at_home / "AppData" / "Local") / "millcalc"
    if platform == "darwin":
        return at_home / "Library" / "Application Support" / "millcalc"
    stated = env.get("XDG_DATA_HOME", "")
    return (Path(stated) if stated.startswith("/") else at_home / ".local" / "share") / "millcalc"


def log_path(
    asked: Path | str | None = None, folder: Path | None = None, environment: Mapping[str, str] | None = None
) -> Path:
    """File that holds the log.

    asked: What ``--log`` said; goes before everything.
    folder: Job folder; its ``cuts.db`` is used when it exists.
    environment: Environment variables; the process's own when left out.
    Returns: The file, which need not exist yet.
    """
    env = os.environ if environment is None else environment
    if asked is not None and str(asked):
        return Path(asked).expanduser()
    if env.get(VARIABLE):
        return Path(env[VARIABLE]).expanduser()
    if folder is not None and (folder / FILE_NAME).is_file():
        return folder / FILE_NAME
    return data_folder(env) / FILE_NAME


def account_name() -> str:
    """Name of the account at work, for the history of changes; empty when the system does not say.

    Returns: At most 200 characters.
    """
    try:
        return getpass.getuser()[:200]
    except (OSError, KeyError, ImportError):
        return ""
