"""Standard hold-down screws: a size as a person writes it, to its largest head and shank."""

from __future__ import annotations

import re
from difflib import get_close_matches
from functools import cache, lru_cache
from pathlib import Path
from typing import Final

from pydantic import Field

from millcalc.tables.locate import data_root
from millcalc.tables.models import Row, Source
from millcalc.tables.yaml_lines import load_marked, validate

_KINDS: Final = ("pan", "countersunk", "socket", "button", "round")
_SIZE: Final = re.compile(
    r"(?P<thread>m|wood)? ?(?P<size>\d+(?:\.\d+)?)(?: ?x ?\d+(?:\.\d+)?)?(?: ?mm)?(?P<rest>.*)"
)


class ScrewSize(Row):
    """One screw of ``screws.yaml``.

    name: What a person writes in the job file.
    head_diameter_mm: Largest head diameter [mm].
    head_height_mm: Largest head height when the head stands on the surface [mm].
    shank_diameter_mm: Largest outside diameter of thread or shank [mm].
    source: Key of the file's own source list.
    """

    name: str
    head_diameter_mm: float = Field(gt=0)
    head_height_mm: float = Field(gt=0)
    shank_diameter_mm: float = Field(gt=0)
    source: str


class ScrewTable(Row):
    """The whole of ``screws.yaml``."""

    sources: dict[str, Source]
    screws: tuple[ScrewSize, ...] = Field(min_length=1)


@cache
def load_screws(path: Path | None = None) -> ScrewTable:
    """Load the table of standard screws.

    path: File to read; None takes the shipped one.
    Returns: Sizes and their sources.
    Raises TableError: If the file cannot be used.
    """
    file = path or data_root() / "screws.yaml"
    data, marks = load_marked(file)
    return validate(ScrewTable, data, marks, file)


def screw_size(text: str) -> ScrewSize:
    """Find a standard screw by what a person wrote.

    text: ``M4 pan``, ``m4x20 pan head``, ``wood 4.0``, ``wood 4 x 30 round``.
    Returns: Its largest dimensions.
    Raises ValueError: If there is no such screw; the text names the closest ones.

    >>> screw_size("M4x20 pan head").head_diameter_mm
    8.0
    """
    sizes = load_screws().screws
    wanted = _normal(text)
    for size in sizes:
        if _normal(size.name) == wanted:
            return size
    names = {_normal(size.name): size.name for size in sizes}
    near = [names[name] for name in names if wanted and name.split(" ")[:2] == wanted.split(" ")[:2]]
    near = near or [names[name] for name in get_close_matches(wanted, names, n=4, cutoff=0.5)]
    raise ValueError(", ".join(near) or f"one of {', '.join(size.name for size in sizes)}")


@lru_cache(maxsize=1000)
def _normal(text: str) -> str:
    """A size as ``m 4 pan`` or ``wood 4 countersunk``; the cleaned text when it has another shape."""
    clean = " ".join(text.lower().replace("-", " ").split())
    kind = next((name for name in _KINDS if re.search(rf"\b{name}\b", clean)), "")
    wood = re.search(r"\bwood\b", clean) is not None
    bare = re.sub(r"\b(wood|screw|head|cap|flat)\b", "", clean)
    shape = _SIZE.search(" ".join(bare.split()))
    if shape is None or (not wood and shape["thread"] != "m"):
        return clean
    thread = "wood" if wood else "m"
    if wood and not kind:
        kind = "countersunk"
    return f"{thread} {float(shape['size']):g} {kind}".strip()
