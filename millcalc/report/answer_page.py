"""An answer of a command as one HTML file: its pictures, and below them the words the terminal prints."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from millcalc import __version__
from millcalc.check.cautions import ALWAYS_SHORT, FOOTER
from millcalc.report.console import make_console
from millcalc.report.page_frame import environment, policy, template_text

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.units_show import System

WORDS_WIDTH = 78  # columns of the words: what a terminal of 80 shows


@dataclass(frozen=True)
class Figure:
    """A picture of an answer.

    kind: Which drawing of ``figures.svg.j2``.
    title: What it shows, one sentence.
    data: What the drawing needs.
    notes: What is to be said below it.
    """

    kind: str
    title: str
    data: dict[str, Any] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def answer_page(
    title: str,
    verdict: str,
    level: Literal["stop", "warning", "note"],
    figures: tuple[Figure, ...],
    say: Callable[[Console], None],
    units: System = "mm",
) -> str:
    """An answer as a self-contained page without a script.

    title: What was asked.
    verdict: The answer in a few words.
    level: Its sign: ``stop`` where it does not hold, ``warning`` where there is something to look at.
    figures: Its pictures.
    say: Prints the answer's words to a console.
    units: ``mm`` or ``in``.
    Returns: The page; whatever comes from files or names is escaped.
    """
    style = template_text("page.css")
    return (
        environment(units)
        .get_template("answer.html.j2")
        .render(
            title=title,
            verdict=verdict,
            level=level,
            figures=figures,
            text=_words(say),
            style=style,
            policy=policy(style, ""),
            cautions=ALWAYS_SHORT,
            footer=FOOTER,
            version=__version__,
        )
    )


def _words(say: Callable[[Console], None]) -> str:
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="utf-8", newline="\n")
    say(make_console(stream, width=WORDS_WIDTH))
    stream.flush()
    return raw.getvalue().decode("utf-8").rstrip()
