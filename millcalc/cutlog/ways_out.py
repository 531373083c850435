"""The way out of a damaged log: its backups, and the commands that help."""

from __future__ import annotations

from pathlib import Path


def way_out(path: Path) -> str:
    """What to do about a damaged log.

    path: The log file.
    Returns: Commands, the newest backup beside it named.
    """
    newest = backups_beside(path)[:1]
    name = f'"{newest[0]}"' if newest else "BACKUP"
    back = (
        f"`millcalc log restore {name}` puts "
        + ("the newest backup" if newest else "a backup")
        + " in its place"
    )
    return (
        f"`millcalc log recover -o NEW.db` saves every entry that can still be read into a new file; {back}"
    )


def backups_beside(path: Path) -> list[Path]:
    """Backups of a log beside it, the newest first.

    path: The log file.
    Returns: Those that millcalc made by itself.
    """
    try:
        names = [one for one in path.parent.iterdir() if one.name.startswith(f"{path.name}.")]
        found = [(one.stat().st_mtime, one) for one in names if one.name.endswith(".backup")]
    except OSError:
        return []
    return [one for _, one in sorted(found, reverse=True)]
