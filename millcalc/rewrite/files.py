"""Writing a copy: never over the program itself, never over another file unasked, whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from millcalc.errors import InputError


def check_target(target: Path, source: Path, *, force: bool = False) -> None:
    """Refuse a target that is the program itself, or another file that may not be replaced.

    target: Where the copy is to go.
    source: The program.
    force: Whether another existing file may be replaced.
    Raises InputError: Naming the file.
    """
    name = str(target)
    if target.exists() and source.exists() and target.samefile(source):
        raise InputError(
            "the program itself",
            "another file: a program is never changed in place",
            "give a new name",
            file=name,
            field="-o",
        )
    if target.is_dir():
        raise InputError("a directory", "a file name", file=name, field="-o")
    if target.exists() and not force:
        raise InputError("a file of that name", "a new name, or --force to replace it", file=name, field="-o")
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
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}", suffix=".part")
    except OSError as error:
        raise InputError(
            str(error.strerror), "a folder that can be written to", file=str(target.parent), field="-o"
        ) from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        check_target(target, source, force=force)
        Path(temporary).replace(target)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
