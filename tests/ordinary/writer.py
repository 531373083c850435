"""Writes the steps of a part as a program, in a style."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from tests.ordinary.parts import Arc, At, Cut, Down, Holes, Step, Tool, Up


@dataclass(frozen=True)
class Style:
    """How a tool or a hand writes.

    unit: ``mm`` or ``in``; unit_word: whether it is said.
    numbers: Step of line numbers; 0 writes none.
    percent: Percent signs around the program, and a program number.
    spaced: Blanks between words.
    modal: Leave G words and unchanged coordinates out.
    low: Small letters and comments behind a semicolon.
    said: Words of the first line after the unit.
    start: First motion: ``z`` up alone, ``xy`` at the height as left, ``home`` by G91 G28, ``machine`` by G53,
      ``length`` XY first and then G43 with the height, ``both`` all axes in one block.
    arcs: Centre words as distances, as coordinates (said by G90.1), or a radius.
    spindle: ``dwell`` M3 and a pause, ``plain`` M3 alone, ``none`` switched by hand.
    change: ``m6``, ``m0`` or ``none`` at the first cutter.
    cycles: Drill with G81 and G83.
    up_at_feed: Retract with G1.
    feed_alone: The feed stands in a line of its own.
    height: Travel height [mm].
    ending: Words of the end, one line each.
    """

    unit: Literal["mm", "in"] = "mm"
    unit_word: bool = True
    numbers: int = 0
    percent: bool = False
    spaced: bool = True
    modal: bool = False
    low: bool = False
    said: str = "G90 G17 G94"
    start: str = "z"
    arcs: str = "distance"
    spindle: str = "dwell"
    change: str = "m6"
    cycles: bool = False
    up_at_feed: bool = False
    feed_alone: bool = False
    height: float = 5.0
    ending: tuple[str, ...] = ("M5", "M30")


class Writer:
    """One program in the making."""

    def __init__(self, style: Style) -> None:
        self.style = style
        self.lines: list[str] = []
        self.word = self.feed = ""
        self.x = self.y = self.z = math.nan
        self.tool: Tool | None = None
        self.begun = False

    def number(self, value: float) -> str:
        """A length in the style's unit."""
        inch = self.style.unit == "in"
        text = f"{value / 25.4:.4f}" if inch else f"{value:.3f}"
        text = text.rstrip("0")
        return "0." if text in ("-0.", "0.") else text if self.style.numbers else text.rstrip(".")

    def put(self, *words: str) -> None:
        """One line of words."""
        words = tuple(w for w in words if w)
        if words:
            self.lines.append((" " if self.style.spaced else "").join(words))

    def note(self, text: str) -> None:
        """A comment."""
        self.lines.append(f"; {text}" if self.style.low else f"({text})")

    def go(self, word: str, x: float, y: float, z: float, *more: str, feed: float = 0.0) -> None:
        """One motion; what is modal may be left out."""
        words = []
        for letter, new, old in (("X", x, self.x), ("Y", y, self.y), ("Z", z, self.z)):
            changed = not math.isnan(new) and self.number(new) != (
                "" if math.isnan(old) else self.number(old)
            )
            if changed or (not self.style.modal and letter != "Z" and word != "G0" and not math.isnan(new)
                           and word in ("G2", "G3")):  # fmt: skip
                words.append(letter + self.number(new))
        rate = f"F{feed / 25.4:.1f}" if self.style.unit == "in" else f"F{feed:g}"
        rate = "" if not feed or rate == self.feed else rate
        if not words and not more:
            return
        if rate and self.style.feed_alone:
            self.put(rate)
            self.feed, rate = rate, ""
        said = "" if self.style.modal and word == self.word else word
        self.put(said, *words, *more, rate)
        self.word, self.feed = word, rate or self.feed
        self.x, self.y, self.z = (
            o if math.isnan(n) else n for n, o in ((x, self.x), (y, self.y), (z, self.z))
        )

    def fit(self, tool: Tool) -> None:
        """Fit a cutter and start the spindle."""
        style, first = self.style, self.tool is None
        if not first:
            self.up()
            if style.spindle != "none":
                self.put("M5")
        self.note(f"cutter {tool.number}: {tool.words}")
        if style.change == "m6":
            self.put(f"T{tool.number}", "M6")
        elif not first:
            self.note(f"fit cutter {tool.number} and zero Z again")
            self.put("M0")
        if style.spindle != "none":
            self.put(f"S{tool.rpm}", "M3")
            if style.spindle == "dwell":
                self.put("G4", "P4")
        self.tool, self.begun, self.word = tool, False, ""

    def travel(self, x: float, y: float) -> None:
        """To above a place; the first time in the style's own way."""
        style, nan = self.style, math.nan
        assert self.tool is not None
        if not self.begun and style.start == "length":
            self.put("G0", f"X{self.number(x)}", f"Y{self.number(y)}")
            self.put("G43", f"Z{self.number(style.height)}", f"H{self.tool.number}")
            self.x, self.y, self.z, self.word = x, y, style.height, "G0"
        elif not self.begun and style.start == "both":
            self.go("G0", x, y, style.height)
        elif not self.begun and style.start in ("xy", "home", "machine"):
            self.go("G0", x, y, nan)
            self.go("G0", nan, nan, style.height)
        else:
            self.go("G0", nan, nan, style.height)
            self.go("G0", x, y, nan)
        self.begun = True

    def up(self) -> None:
        """Retract."""
        if self.begun:
            self.go("G1" if self.style.up_at_feed else "G0", math.nan, math.nan, self.style.height)

    def arc(self, step: Arc) -> None:
        """An arc in the style's words."""
        assert self.tool is not None
        z = math.nan if step.z is None else step.z
        full = math.hypot(step.x - self.x, step.y - self.y) < 1e-6
        radius = math.hypot(step.x - step.cx, step.y - step.cy)
        if self.style.arcs == "radius" and not full:
            more = [f"R{self.number(radius)}"]
        elif self.style.arcs == "coordinate":
            more = [f"I{self.number(step.cx)}", f"J{self.number(step.cy)}"]
        else:
            more = [f"I{self.number(step.cx - self.x)}", f"J{self.number(step.cy - self.y)}"]
        self.go(f"G{step.turn}", step.x, step.y, z, *more, feed=self.tool.feed)

    def holes(self, step: Holes) -> None:
        """Drilled holes, with a cycle or stroke by stroke."""
        style, nan = self.style, math.nan
        assert self.tool is not None
        self.travel(*step.places[0])
        if style.cycles:
            word = ("G83", f"Q{self.number(step.peck)}") if step.peck else ("G81",)
            rate = self.number(self.tool.plunge) if style.unit == "in" else f"{self.tool.plunge:g}"
            head = (f"Z{self.number(step.z)}", f"R{self.number(1.0)}", *word[1:], f"F{rate}")
            self.put("G98", word[0], f"X{self.number(self.x)}", f"Y{self.number(self.y)}", *head)
            for x, y in step.places[1:]:
                self.put(f"X{self.number(x)}", f"Y{self.number(y)}")
            self.put("G80")
            self.word, self.z, self.x, self.y = "", style.height, *step.places[-1]
            return
        for x, y in step.places:
            self.travel(x, y)
            self.go("G0", nan, nan, 1.0)
            levels = [step.z]
            if step.peck:
                levels = [-step.peck * k for k in range(1, round(-step.z / step.peck) + 1)]
            for k, z in enumerate(levels):
                if k:
                    self.go("G0", nan, nan, 1.0)
                    self.go("G0", nan, nan, levels[k - 1] + 0.3)
                self.go("G1", nan, nan, z, feed=self.tool.plunge)
            self.up()


def write(steps: list[Step], style: Style, title: str) -> bytes:
    """A whole program.

    steps: What is made [mm].
    style: How it is written.
    title: Words of the first comment.
    Returns: The program's bytes.
    """
    out = Writer(style)
    if style.percent:
        out.lines.append("%")
        out.put("O1001")
    out.note(title)
    unit = {"mm": "G21", "in": "G20"}[style.unit] if style.unit_word else ""
    out.put(unit, *style.said.split(), "G90.1" if style.arcs == "coordinate" else "")
    if style.start == "home":
        out.put("G91", "G28", "Z0.")
        out.put("G90")
    elif style.start == "machine":
        out.put("G53", "G0", "Z0")
    for step in steps:
        _step(out, step)
    out.up()
    for line in style.ending:
        out.put(*line.split())
    lines = out.lines
    if style.numbers:
        lines = [
            line if line[0] in "%O(" else f"N{style.numbers * k}{' ' if style.spaced else ''}{line}"
            for k, line in enumerate(lines, 1)
        ]
    text = "\n".join(lines) + ("\n%\n" if style.percent else "\n")
    return (text.lower() if style.low else text).encode("ascii")


def _step(out: Writer, step: Step) -> None:
    nan = math.nan
    if isinstance(step, Tool):
        out.fit(step)
        return
    assert out.tool is not None
    if isinstance(step, At):
        out.travel(step.x, step.y)
    elif isinstance(step, Down):
        out.go("G1", nan, nan, step.z, feed=out.tool.plunge)
    elif isinstance(step, Cut):
        out.go("G1", step.x, step.y, nan if step.z is None else step.z, feed=out.tool.feed)
    elif isinstance(step, Arc):
        out.arc(step)
    elif isinstance(step, Holes):
        out.holes(step)
    elif isinstance(step, Up):
        out.up()
