"""The set: every style with six of the parts in turn, and programs as hands write them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from tests.ordinary.by_hand import BY_HAND
from tests.ordinary.parts import PARTS
from tests.ordinary.writer import Style, write

STYLES: dict[str, Style] = {
    "plain-mm": Style(),
    "plain-inch": Style(unit="in", said="G90 G17 G94 G54"),
    "numbered-mm": Style(
        numbers=10, percent=True, said="G90 G94 G17 G54", start="home", spindle="plain", height=15.0,
        ending=("M5", "G91 G28 Z0.", "G90", "M30"),
    ),
    "numbered-inch": Style(
        unit="in", numbers=5, percent=True, said="G90 G94 G17 G40 G49 G80", start="length", spindle="plain",
        height=12.7, cycles=True, ending=("G49", "M5", "M30"),
    ),
    "length-mm": Style(
        numbers=1, said="G90 G17 G40 G80", start="length", spindle="plain", height=10.0, cycles=True, arcs="radius",
        ending=("G28 G91 Z0.", "G90", "M5", "M30"),
    ),
    "machine-start": Style(
        said="G90 G17 G94", start="machine", spindle="plain", height=8.0,
        ending=("G53 G0 Z0", "M5", "M30"),
    ),
    "compact-mm": Style(spaced=False, modal=True, said="G90", spindle="plain", height=3.0, change="m0",
                        ending=("M5", "M2")),
    "compact-inch": Style(unit="in", spaced=False, modal=True, said="G90", spindle="plain", height=3.175, start="xy",
                          change="m0", arcs="radius", ending=("M5", "M2")),
    "level-first": Style(said="G90", start="xy", spindle="plain", height=4.0, change="m0", ending=("M5", "M30")),
    "small-letters": Style(low=True, said="G90 G17", spindle="dwell", change="m0", feed_alone=True,
                           ending=("M5", "M2")),
    "coordinates": Style(said="G90 G17", arcs="coordinate", spindle="plain", height=6.0, ending=("M5", "M30")),
    "no-switch-mm": Style(said="G90 G17", spindle="none", change="m0", height=5.0, ending=("G0 X0 Y0", "M2")),
    "no-switch-modal": Style(said="G90", spindle="none", change="m0", modal=True, start="xy", height=5.0,
                             ending=("M2",)),
    "no-distance-word": Style(said="G17", spindle="plain", change="m0", height=5.0, ending=("M5", "M30")),
    "up-at-feed": Style(said="G90 G94", spindle="plain", change="m0", up_at_feed=True, ending=("M5", "M30")),
    "all-at-once": Style(said="G90 G17", start="both", spindle="plain", height=5.0, change="m0",
                         ending=("M5", "M30")),
}  # fmt: skip


@dataclass(frozen=True)
class Ordinary:
    """A program without a fault.

    name: Style and part.
    data: Its bytes.
    part: Name of the part; empty for one by hand.
    style: How it is written; None for one by hand.
    """

    name: str
    data: bytes
    part: str = ""
    style: Style | None = None


@cache
def ordinary() -> tuple[Ordinary, ...]:
    """All programs, the same on every call.

    Returns: The set, in a fixed order.
    """
    names, found = list(PARTS), []
    for k, (name, style) in enumerate(STYLES.items()):
        for j in range(6):
            part = names[(5 * k + 2 * j + (k // 2) % 2) % len(names)]
            data = write(PARTS[part](), style, f"weather station: {part}")
            found.append(Ordinary(f"{name}/{part}", data, part, style))
    found += [Ordinary(f"by-hand/{name}", text.encode("ascii")) for name, text in BY_HAND.items()]
    return tuple(found)
