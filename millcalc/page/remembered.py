"""What the page remembers from one start to the next: units, and the machine, material and cutter used last."""

from __future__ import annotations

import json
from pathlib import Path

from millcalc.errors import InputError
from millcalc.files import new_file

NAME = "page.json"
FIELDS = ("units", "machine", "material", "cutter", "cut")


def remembered(folder: Path) -> dict[str, str]:
    """What was remembered.

    folder: Where the page keeps its jobs.
    Returns: Known fields only; empty when there is none, or it cannot be read.
    """
    try:
        data = json.loads((folder / NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    if not isinstance(data, dict):
        return {}
    return {key: value for key, value in data.items() if key in FIELDS and isinstance(value, str)}


def remember(folder: Path, **fields: str) -> None:
    """Remember fields beside those known; a folder that takes no file is no reason to stop.

    folder: Where the page keeps its jobs.
    **fields: Of :data:`FIELDS`.
    """
    before = remembered(folder)
    after = {**before, **{key: value for key, value in fields.items() if key in FIELDS}}
    if after == before:
        return
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with new_file(folder / NAME, replace=True) as part:
            part.write_text(json.dumps(after, indent=1), encoding="utf-8", newline="\n")
    except (InputError, OSError):
        return
