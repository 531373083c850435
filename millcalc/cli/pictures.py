"""Writing pictures and pages: only where nothing else can be overwritten, whole or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.errors import InputError
from millcalc.files import new_file, refuse_odd, refuse_target

if TYPE_CHECKING:
    from millcalc.check.run import Looked

# stands near the beginning of every file that is written here, by the ending of its name
OURS = {
    ".html": b'<meta name="generator" content="millcalc ',
    ".htm": b'<meta name="generator" content="millcalc ',
    ".png": b"Software\x00millcalc",
    ".svg": b"<dc:title>millcalc</dc:title>",
    ".sarif": b'"name": "millcalc"',
    ".json": b'"name": "millcalc"',
    ".csv": b"motion,line,tool,kind,",
}
LOOKED_AT = 8192  # bytes


def check_target(
    path: Path | None, endings: tuple[str, ...], field: str, inputs: Sequence[Path | None] = ()
) -> None:
    """See that a file may be written, before the long work begins.

    path: Where to; None is nothing to write.
    endings: File name endings that fit.
    field: Option name for the error.
    inputs: Files of this run that are never written over.
    Raises InputError: If the name does not fit, the folder is missing, or a file of that name was not
      written by millcalc.
    """
    if path is None:
        return
    if path.suffix.lower() not in endings:
        raise InputError(repr(str(path)), "a name that ends in " + " or ".join(endings), field=field)
    refuse_odd(path, field=field)
    if path.is_dir():
        raise InputError("a folder of that name", "a file name", file=str(path), field=field)
    if not path.parent.is_dir():
        raise InputError(
            "no such folder", "a folder that exists", "make it first", file=str(path.parent), field=field
        )
    if path.exists():
        refuse_target(path, replace=True, inputs=inputs, field=field)
        with path.open("rb") as file:
            if OURS[path.suffix.lower()] not in file.read(LOOKED_AT):
                raise InputError(
                    "a file of that name which millcalc did not write",
                    "a new name",
                    file=str(path),
                    field=field,
                )


def write_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, over an older one.

    path: Where to, see :func:`check_target`.
    content: What.
    Raises InputError: If the folder does not take it.
    """
    with new_file(path, replace=True) as part:
        part.write_bytes(content)


def write_pictures(looked: Looked, html: Path | None, png: Path | None) -> list[str]:
    """Write the page and the picture of a check.

    looked: The check.
    html, png: Where to; None writes nothing.
    Returns: What was written, for the person.
    """
    said = []
    if html is not None:
        from millcalc.report.page_html import report_page

        write_file(html, report_page(looked.ctx, looked.report).encode("utf-8"))
        said.append(f"page written to {html}: open it in a browser")
    if png is not None:
        from millcalc.report.plots import check_picture

        picture = check_picture(looked.ctx, looked.report, "svg" if png.suffix.lower() == ".svg" else "png")
        if picture is None:
            said.append(f"no picture: nothing in the program has a known place; {png} was not written")
        else:
            write_file(png, picture)
            said.append(f"picture written to {png}")
    return said
