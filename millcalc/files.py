"""The one place that writes a person's files: whole or not at all, over nothing unasked, never over an input."""

from __future__ import annotations

import os
import secrets
import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from millcalc.errors import InputError


def refuse_odd(path: Path, *, field: str | None = None, kind: type[InputError] = InputError) -> None:
    """Refuse what is there but is no ordinary file: a device, a pipe, a socket are neither read nor replaced.

    path: Any; a folder or nothing at all is left to the caller.
    field: Option name for the error.
    kind: Of the error.
    Raises InputError: Naming the path.
    """
    if path.exists() and not path.is_file() and not path.is_dir():
        raise kind("a device, pipe or socket", "an ordinary file", file=str(path), field=field)


def refuse_target(
    target: Path,
    *,
    replace: bool = False,
    inputs: Sequence[Path | None] = (),
    field: str | None = None,
    kind: type[InputError] = InputError,
) -> None:
    """Refuse a target that may not be written.

    target: Where to.
    replace: Whether an ordinary file that is there may be replaced.
    inputs: Files of this run that are never written over.
    field: Option name for the error.
    kind: Of the error.
    Raises InputError: Naming the target.
    """
    refuse_odd(target, field=field, kind=kind)
    name = str(target)
    if target.is_dir():
        raise kind("a directory", "a file name", file=name, field=field)
    for given in inputs:
        if given is not None and given.exists() and target.exists() and target.samefile(given):
            raise kind(
                "a file that is read in this run", "another file", "give a new name", file=name, field=field
            )
    if not replace and os.path.lexists(target):
        raise kind("a file of that name", "a new name, or --force to replace it", file=name, field=field)


@contextmanager
def new_file(
    target: Path,
    *,
    replace: bool = False,
    inputs: Sequence[Path | None] = (),
    field: str | None = None,
    kind: type[InputError] = InputError,
) -> Iterator[Path]:
    """A part file beside the target to write into; at the end, on the disk, it becomes the target.

    target: Where to.
    replace: Whether an ordinary file that is there may be replaced; else never, not even one that appears
      meanwhile.
    inputs: Files of this run that are never written over.
    field: Option name for the error.
    kind: Of the error.
    Returns: The part file, empty, with the mode that a new file has here; gone after an error.
    Raises InputError: If the target may not be written, or its folder does not take it.
    """
    refuse_target(target, replace=replace, inputs=inputs, field=field, kind=kind)
    part = _part_of(target)
    try:
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    except OSError as error:
        raise kind(
            str(error.strerror), "a folder that can be written to", file=str(target), field=field
        ) from None
    try:
        yield part
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        refuse_target(target, replace=replace, inputs=inputs, field=field, kind=kind)
        try:
            part.replace(target) if replace else _publish(part, target)
        except FileExistsError:
            refuse_target(target, inputs=inputs, field=field, kind=kind)
            raise
        _flush_folder(target.parent)
    finally:
        part.unlink(missing_ok=True)
        _parts.discard(part)


def write_text(target: Path, text: str, *, replace: bool = False) -> None:
    """Write a text file whole or not at all.

    target: Where to.
    text: What; written as UTF-8 with the line ends it has.
    replace: Whether an ordinary file that is there may be replaced.
    Raises InputError: If the target may not be written, or its folder does not take it.
    """
    with new_file(target, replace=replace) as part:
        part.write_text(text, encoding="utf-8", newline="")


_parts: set[Path] = set()  # begun and not yet there under their own name


def _part_of(target: Path) -> Path:
    part = target.with_name(f".{target.name[:60]}.{secrets.token_hex(6)}.part")
    _parts.add(part)
    return part


def remove_parts() -> None:
    """Remove what was begun, for a process that ends at once."""
    for part in list(_parts):
        shutil.rmtree(part, ignore_errors=True)
        with suppress(OSError):
            part.unlink(missing_ok=True)


@contextmanager
def new_folder(target: Path, *, field: str | None = None) -> Iterator[Path]:
    """A part folder beside the target to fill; at the end it becomes the target, which must not be there.

    target: Where to.
    field: Option name for the error.
    Returns: The part folder, empty; gone after an error.
    Raises InputError: If something of that name is there, or the folder above does not take it.
    """

    def refuse() -> None:
        if os.path.lexists(target):
            raise InputError(
                "a file or folder of that name",
                "a folder that does not exist yet",
                "give a new name",
                file=str(target),
                field=field,
            )

    refuse()
    part = _part_of(target)
    try:
        part.mkdir()
    except OSError as error:
        raise InputError(
            str(error.strerror), "a folder that can be written to", file=str(target), field=field
        ) from None
    try:
        yield part
        refuse()
        part.rename(target)
        _flush_folder(target.parent)
    finally:
        shutil.rmtree(part, ignore_errors=True)
        _parts.discard(part)


def _publish(part: Path, target: Path) -> None:
    """Give the part file the target's name, only while nobody else has it."""
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without links: take the name first, then fill it
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
        try:
            part.replace(target)
        except BaseException:
            target.unlink(missing_ok=True)
            raise


def _flush_folder(folder: Path) -> None:
    """Bring the new name to the disk where folders can be flushed (not on Windows)."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError:  # some network file systems do not
        pass
    finally:
        os.close(handle)
