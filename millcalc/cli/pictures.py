"""Writing pictures and pages: only where nothing else can be overwritten, whole or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.errors import InputError
from millcalc.files import new_file, refuse_target

if TYPE_CHECKING:
    from millcalc.check.run import Looked


def check_target(
    path: Path | None,
    endings: tuple[str, ...],
    field: str,
    inputs: Sequence[Path | None] = (),
    *,
    force: bool = False,
) -> None:
    """See that a file may be written, before the long work begins.

    path: Where to; None is nothing to write.
    endings: File name endings that fit.
    field: Option name for the error.
    inputs: Files of this run that are never written over.
    force: Whether another file that is there may be replaced.
    Raises InputError: If the name does not fit, the folder is missing, or the file may not be replaced.
    """
    if path is None:
        return
    if path.suffix.lower() not in endings:
        raise InputError(repr(str(path)), "a name that ends in " + " or ".join(endings), field=field)
    refuse_target(path, replace=force, inputs=inputs, field=field)
    if not path.parent.is_dir():
        raise InputError(
            "no such folder", "a folder that exists", "make it first", file=str(path.parent), field=field
        )


def write_file(path: Path, content: bytes, *, force: bool = False) -> None:
    """Write a file whole or not at all.

    path: Where to, see :func:`check_target`.
    content: What.
    force: Whether a file that is there may be replaced.
    Raises InputError: If the file may not be replaced, or the folder does not take it.
    """
    with new_file(path, replace=force) as part:
        part.write_bytes(content)


def write_pictures(looked: Looked, html: Path | None, png: Path | None, *, force: bool = False) -> list[str]:
    """Write the page and the picture of a check.

    looked: The check.
    html, png: Where to; None writes nothing.
    force: Whether files that are there may be replaced.
    Returns: What was written, for the person.
    """
    said = []
    if html is not None:
        from millcalc.report.page_html import report_page

        write_file(html, report_page(looked).encode("utf-8"), force=force)
        said.append(f"page written to {html}: open it in a browser")
    if png is not None:
        from millcalc.report.plots import check_picture

        picture = check_picture(looked, "svg" if png.suffix.lower() == ".svg" else "png")
        if picture is None:
            said.append(f"no picture: nothing in the program has a known place; {png} was not written")
        else:
            write_file(png, picture, force=force)
            said.append(f"picture written to {png}")
    return said
