"""Writing pictures and pages: only where nothing else can be overwritten, whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from millcalc.files import new_file

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.check.run import Looked
    from millcalc.report.answer_page import Figure
    from millcalc.units_show import System


def write_file(path: Path, content: bytes, *, force: bool = False) -> None:
    """Write a file whole or not at all.

    path: Where to, see :func:`millcalc.cli.outputs.check_target`.
    content: What.
    force: Whether a file that is there may be replaced.
    Raises InputError: If the file may not be replaced, or the folder does not take it.
    """
    with new_file(path, replace=force) as part:
        part.write_bytes(content)


def write_answer(
    html: Path,
    title: str,
    verdict: tuple[str, Literal["stop", "warning", "note"]],
    figures: Sequence[Figure | None],
    tell: Callable[[Console], None],
    units: System,
    *,
    force: bool = False,
    quiet: bool = False,
) -> None:
    """Write an answer as a page: its pictures, and the words that the terminal prints.

    html: Where to, see :func:`millcalc.cli.outputs.check_target`.
    title: What was asked.
    verdict: The answer in a few words, and its sign.
    figures: Its pictures; None are left out.
    tell: Prints the words to a console.
    units: ``mm`` or ``in``.
    force: Whether a file that is there may be replaced.
    quiet: Say where it was written on standard error.
    """
    from millcalc.cli.say import say
    from millcalc.report.answer_page import answer_page

    drawn = tuple(figure for figure in figures if figure is not None)
    page = answer_page(title, *verdict, drawn, tell, units)
    write_file(html, page.encode("utf-8"), force=force)
    say(f"page written to {html}: open it in a browser", err=quiet)


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
