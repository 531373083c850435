"""Writing a copy: never over the program itself, never over another file unasked, whole or not at all."""

from __future__ import annotations

from pathlib import Path

from millcalc.errors import InputError
from millcalc.files import new_file, refuse_odd, refuse_target


def check_target(target: Path, source: Path, job: Path | None = None, *, force: bool = False) -> None:
    """Refuse a target that is the program itself, or another file that may not be replaced.

    target: Where the copy is to go.
    source: The program.
    job: The job file, which is never replaced either.
    force: Whether another existing file may be replaced.
    Raises InputError: Naming the file.
    """
    name = str(target)
    refuse_odd(target, field="-o")
    if target.exists() and source.exists() and target.samefile(source):
        raise InputError(
            "the program itself",
            "another file: a program is never changed in place",
            "give a new name",
            file=name,
            field="-o",
        )
    refuse_target(target, replace=force, inputs=(job,), field="-o")
    if not target.parent.exists():
        raise InputError("no such folder", "a folder that exists", file=str(target.parent), field="-o")


def write_copy(target: Path, data: bytes, source: Path, *, force: bool = False) -> None:
    """Write the copy's bytes by way of a temporary file in the same folder.

    target: Where the copy is to go.
    data: The copy.
    source: The program.
    force: Whether another existing file may be replaced.
    Raises InputError: If the target is refused or its folder does not take the file.
    """
    check_target(target, source, force=force)
    with new_file(target, replace=force, inputs=(source,), field="-o") as part:
        part.write_bytes(data)
