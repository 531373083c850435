"""The one option that names what a command writes: ``-o FILE``; the ending of the name says what it becomes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from millcalc.errors import InputError, UsageError
from millcalc.files import refuse_target

OPTION = "-o"
PAGE = (".html", ".htm")
PICTURE = (".svg", ".png")
FINDINGS = (".sarif", ".sarif.json")
TABLE = (".csv",)


def check_target(path: Path, inputs: Sequence[Path | None] = (), *, force: bool = False) -> None:
    """See that a file may be written, before the long work begins.

    path: Where to.
    inputs: Files of this run that are never written over.
    force: Whether another file that is there may be replaced.
    Raises InputError: If the folder is missing, or the file may not be replaced.
    """
    refuse_target(path, replace=force, inputs=inputs, field=OPTION)
    if not path.parent.is_dir():
        raise InputError(
            "no such folder", "a folder that exists", "make it first", file=str(path.parent), field=OPTION
        )


def by_kind(
    out: Sequence[Path] | None,
    kinds: Mapping[str, tuple[str, ...]],
    inputs: Sequence[Path | None] = (),
    *,
    force: bool = False,
) -> dict[str, Path]:
    """Sort what ``-o`` named by what each file is to become, and see that it may be written.

    out: Files, as typed.
    kinds: Endings a kind of file may have, by a word for the kind.
    inputs: Files of this run that are never written over.
    force: Whether other files that are there may be replaced.
    Returns: File by kind; a kind that is not asked for is left out.
    Raises InputError: If an ending fits no kind, or a file may not be written.
    Raises UsageError: If two files of one kind are asked for.
    """
    found: dict[str, Path] = {}
    for path in out or ():
        fits = [kind for kind, endings in kinds.items() if path.name.lower().endswith(endings)]
        if not fits:
            accepted = "; ".join(f"{kind}: {' or '.join(endings)}" for kind, endings in kinds.items())
            raise InputError(repr(str(path)), accepted, "give the name one of these endings", field=OPTION)
        if fits[0] in found:
            raise UsageError(f"{OPTION} {found[fits[0]]} and {OPTION} {path} are both a {fits[0]}: name one")
        check_target(path, inputs, force=force)
        found[fits[0]] = path
    return found
