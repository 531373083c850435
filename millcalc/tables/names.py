"""Finds table files by name or alias over the searched folders, and offers the closest names of a wrong one."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path
from typing import Final, Literal

from millcalc.errors import InputError, TableError
from millcalc.tables.cutter_search import matching
from millcalc.tables.yaml_lines import load_marked

Kind = Literal["materials", "cutters", "machines"]
KINDS: Final[tuple[Kind, ...]] = ("materials", "cutters", "machines")
SINGULAR: Final[dict[str, str]] = {"materials": "material", "cutters": "cutter", "machines": "machine"}


_GAPS = re.compile(r"[\s_]+")


@lru_cache(maxsize=4096)
def slug(name: str) -> str:
    """Write a name the way names are compared: small letters, hyphens for blanks and underscores.

    name: Name as typed, or a file stem.
    Returns: Comparable name.

    >>> slug(" AL_6061 T6 ")
    'al-6061-t6'
    """
    return _GAPS.sub("-", name.strip().lower())


def files_of(kind: Kind, roots: tuple[Path, ...]) -> dict[str, Path]:
    """Index the table files of a kind by comparable name, the first folder winning.

    kind: ``materials``, ``cutters`` or ``machines``.
    roots: Folders in the order searched.
    Returns: Comparable name to file.
    """
    return {name: folder / file for name, (folder, file) in _places(kind, roots).items()}


def _places(kind: Kind, roots: tuple[Path, ...]) -> dict[str, tuple[Path, str]]:
    """Folder and file name of each table file of a kind, by comparable name, the first folder winning."""
    found: dict[str, tuple[Path, str]] = {}
    for root in roots:
        folder = root / kind
        if folder.is_dir():
            with os.scandir(folder) as entries:
                files = sorted(entry.name for entry in entries)
            for file in files:
                stem, _, ending = file.rpartition(".")
                if stem and ending.lower() in ("yaml", "yml"):
                    found.setdefault(slug(stem), (folder, file))
    return found


def aliases_of(files: Mapping[str, Path]) -> tuple[dict[str, str], list[InputError]]:
    """Index the other names of table rows.

    files: Comparable name to file.
    Returns: aliases: Comparable alias to comparable name. errors: Files that could not be read, whose
      aliases are therefore unknown.
    """
    aliases: dict[str, str] = {}
    errors: list[InputError] = []
    for name, path in files.items():
        try:
            data, _ = load_marked(path)
        except InputError as problem:
            errors.append(problem)
            continue
        given = data.get("aliases") if isinstance(data, dict) else None
        for alias in given if isinstance(given, list) else []:
            aliases.setdefault(slug(str(alias)), name)
    return aliases, errors


def find(kind: Kind, name: str, roots: tuple[Path, ...]) -> Path:
    """Find the table file of a name or alias.

    kind: ``materials``, ``cutters`` or ``machines``.
    name: File stem or alias, in any case.
    roots: Folders in the order searched.
    Returns: The table file.
    Raises TableError: Unknown name, with the closest names.
    """
    places, wanted = _places(kind, roots), slug(name)
    if wanted in places:
        folder, file = places[wanted]
        return folder / file
    files = files_of(kind, roots)
    mentioning = {name: path for name, path in files.items() if _mentions(path, wanted)}
    aliases, _ = aliases_of(mentioning)
    if wanted in aliases:
        return files[aliases[wanted]]
    described = matching(name, files) if kind == "cutters" else []
    if len(described) == 1:
        return files[described[0]]
    if described:
        raise TableError(
            f"cutter '{name}', which is said of {len(described)}",
            "one of: " + ", ".join(described[:8]) + (", ..." if len(described) > 8 else ""),
            "give one of these names, or say more: 6mm 1 flute ball",
        )
    aliases, unread = aliases_of(files)
    raise unknown_name(kind, name, files, aliases, unread)


def sorts_of(kind: Kind, text: str, roots: tuple[Path, ...]) -> tuple[str, list[str]] | None:
    """Which sort a word was taken for that several rows share, such as brass, and the others.

    kind: ``materials``, ``cutters`` or ``machines``.
    text: As typed.
    roots: Folders in the order searched.
    Returns: The sort taken and the others; None where the word names one row.

    >>> from millcalc.tables.locate import data_root
    >>> sorts_of("materials", "brass", (data_root(),))
    ('brass-free-machining', ['brass-cartridge'])
    """
    wanted = slug(text)
    files = files_of(kind, roots)
    like = [name for name in files if name.startswith(f"{wanted}-")]
    if wanted in files or not like:
        return None
    aliases, _ = aliases_of({name: files[name] for name in like})
    taken = aliases.get(wanted)
    others = [name for name in like if name != taken]
    return (taken, others) if taken is not None and others else None


def _mentions(path: Path, wanted: str) -> bool:
    """Whether a name stands anywhere in a file; a quick look before the YAML is read."""
    if not path.is_file():
        return True
    try:
        with path.open("rb") as handle:
            text = handle.read(200_000).decode("utf-8", "replace")
    except OSError:
        return True
    return wanted in slug(text)


def unknown_name(
    kind: Kind,
    name: str,
    files: Mapping[str, Path],
    aliases: Mapping[str, str],
    unread: list[InputError],
) -> TableError:
    """Make the error for a name no table has, offering the closest ones.

    kind: ``materials``, ``cutters`` or ``machines``.
    name: The name as typed.
    files, aliases: What is known.
    unread: Table files that could not be read.
    Returns: With up to four names.
    """
    known = [*files, *aliases]
    wanted = slug(name)
    close = get_close_matches(wanted, known, n=6, cutoff=0.6) if wanted else []
    close += [entry for entry in sorted(files) if len(wanted) >= 3 and wanted in entry and entry not in close]
    best = list(dict.fromkeys(aliases.get(entry, entry) for entry in close))[:4]
    accepted = f"closest: {', '.join(best)}" if best else f"one of the {len(files)} {kind} of the tables"
    action = f"choose one (`millcalc tables {kind}` lists them) or write your own, materials/{kind}/NAME.yaml"
    if unread:
        action += f"; {len(unread)} table file(s) could not be read, first: {unread[0]}"
    short = name if len(name) <= 60 else name[:57] + "..."
    return TableError(f"unknown {SINGULAR[kind]} '{short}'", accepted, action)
