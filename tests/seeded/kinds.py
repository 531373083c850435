"""Kinds of fault: the edit of the program or the job, and whether it can be known without a job."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tests.seeded.edits import Edit, Edited, cut_off, doubled, drop, insert, lost_retract, scale, shift, swap

DEEP = r"^(N\d+\s*)?G0?1\s*Z-"  # a straight way down
SIDE = r"^(N\d+\s*)?G0?1\s*[XY][^Z]*$"  # a level cut
LEVEL = r"G0\s*X"  # travel
VEE = ("boring-cycles",)  # its T2 is a vee cutter in the job


@dataclass(frozen=True)
class Kind:
    """One kind of fault.

    name: In words.
    edit: Of the program.
    alone: Whether the program alone can show it.
    job: Change of the job's text, old and new; the fault is then the job's. {x} and {y} are the first cut's place.
    harmless: Parts in which the edit does no harm (a rapid beside the stock, or up over a tab).
    """

    name: str
    edit: Edit | None
    alone: bool = True
    job: tuple[str, str] | None = None
    harmless: tuple[str, ...] = ()


KINDS = (
    Kind("unit: G20 for G21", swap("G21", "G20", "first")),
    Kind("unit: G21 for G20", swap("G20", "G21", "first")),
    Kind("unit: G21 lost", swap("G21", "", "first")),
    Kind("unit: G20 lost", swap("G20", "", "first")),
    Kind("unit: G20 in the middle", insert("G20", SIDE, needs="G21")),
    Kind("unit: G21 in the middle", insert("G21", SIDE, needs="G20")),
    Kind("mode: G91 in the middle", insert("G91", SIDE)),
    Kind("mode: G91 for G90 at the top", lambda lines: _at_top(lines, "G91")),
    Kind("mode: G90 does not come back", lambda lines: _stays_incremental(lines)),
    Kind("mode: G90 lost at the top", lambda lines: _at_top(lines, "")),
    Kind("mode: plane G18 before an arc", insert("G18", r"G0?[23]\s*X.*I")),
    Kind("mode: feed per turn", insert("G95", SIDE, "first")),
    Kind("offset: G55 in the middle", insert("G55", LEVEL, after=DEEP)),
    Kind("offset: not the job's", insert("G56", r"G0\s*[XZ]", "first"), alone=False),
    Kind("offset: G92 in the middle", insert("G92 X0 Y0", LEVEL, after=DEEP)),
    Kind("spindle: M3 lost", swap(r"M0?3\b", "", "first")),
    Kind("spindle: M4 for M3", swap(r"M0?3\b", "M4", "first")),
    Kind("spindle: S lost", swap(r"S\d+", "", "first")),
    Kind("spindle: S0", swap(r"S\d+", "S0", "first")),
    Kind("spindle: M5 in the cut", insert("M5", SIDE)),
    Kind("spindle: pause lost", drop(r"G4\s*P", "first")),
    Kind("spindle: another S in the cut", insert("S5000", SIDE)),
    Kind("spindle: S a tenth", scale("S", 0.1, "first"), alone=False),
    Kind("spindle: S tenfold", scale("S", 10, "first"), alone=False),
    Kind("feed: none at all", lambda lines: _without_feeds(lines)),
    Kind("feed: F0", scale("F", 1e-9, "middle")),
    Kind("feed: one word tenfold", scale("F", 10, twin=True)),
    Kind("feed: one word a tenth", scale("F", 0.1, only=SIDE.replace("^", "").replace("$", "")), alone=False),
    Kind("feed: all tenfold", lambda lines: _all_feeds(lines, 10), alone=False),
    Kind("feed: all a tenth", lambda lines: _all_feeds(lines, 0.1), alone=False),
    Kind("feed: of a drill a tenth", lambda lines: _drill_feed(lines, 0.1), alone=False, harmless=VEE),
    Kind("feed: of a drill fiftyfold", lambda lines: _drill_feed(lines, 50), alone=False),
    Kind("feed: F3000 in inches", lambda lines: _inch_feed(lines)),
    Kind("feed: lost at a plunge", swap(rf"(?<={'Z-'}[0-9.])\s*F\s*[\d.]+", "", "last")),
    Kind("rapid: retract lost", lost_retract()),
    Kind("rapid: G0 for G1 in a cut", swap(r"G0?1(?=\s*[XY][^Z]*$)", "G0"), harmless=("facing",)),
    Kind("rapid: G0 for G1 on the way down", swap(r"G0?1(?=\s*Z-)", "G0"), harmless=("facing", "box")),
    Kind("rapid: sideways at a level between", insert("G0 Z-0.15 X30 Y30", LEVEL, after=DEEP, needs="G21")),
    Kind("rapid: home by way of a low point", insert("G28 Z-0.2", LEVEL, after=DEEP)),
    Kind("height: too deep by tenfold", scale("Z", 10, only="G0?1.*Z-"), alone=False),
    Kind("height: stop at depth", insert("M0", SIDE)),
    Kind("end: cut off between lines", cut_off(0.7)),
    Kind("end: cut off within a line", cut_off(0.7, within_line=True)),
    Kind("end: no word", lambda lines: None if "%" in lines else swap(r"M0?2$|M30", "", "last")(lines)),
    Kind("arc: wrong way round", lambda lines: _turned(lines)),
    Kind("arc: end point off", scale("X", 1.2, only="G0?[23].*I"), alone=True),
    Kind("arc: sign of the centre", lambda lines: _sign(lines)),
    Kind("arc: centre lost", swap(r"\s*I-?[\d.]+\s*J-?[\d.]+", "")),
    Kind("arc: radius too small", scale("R", 0.3, only="G0?[23]")),
    Kind("arc: G90.1 lost", lambda lines: _centres(lines)),
    Kind("tool: number without a cutter", swap(r"T\d+", "T9", "first"), alone=False),
    Kind("tool: change without a stop", swap(r"M0?6\b", "", "last", after=SIDE)),
    Kind("tool: comment of another diameter", insert("(cutter D=8 mm)", r"G0\s*[XZ]", "first"), alone=False),
    Kind("text: letter for zero", swap(r"(?<=[XY])(\d)", "O", "middle", after=DEEP)),
    Kind("text: two points in a number", swap(r"(?<=[XY])(\d+)\.(\d)", r"\1..\2", "middle")),
    Kind("text: comma in a number", swap(r"(?<=[XY])(\d+)\.(\d)", r"\1,\2", "middle")),
    Kind("text: comment not closed", insert("(next feature", LEVEL)),
    Kind("text: word twice", swap(r"(X-?[\d.]+)", r"\1 X1", "middle")),
    Kind("text: two motion words", swap(r"G0?1(?=\s*[XY])", "G0 G1", "middle")),
    Kind("text: block twice", doubled()),
    Kind("zero: off by a radius, screw beside the path", shift("X", -3.0, needs=r"X15\b.*Y[12]5"), alone=False),
    Kind("zero: on the bed", shift("Z", 6.0), alone=False),
    Kind("zero: in the middle", shift("X", -50.0), alone=False),
    Kind("job: screw under the path", None, alone=False, job=("{x: 3 mm, y: 40 mm", "{{x: {x} mm, y: {y} mm")),
    Kind("job: stock thinner", None, alone=False, job=("thickness: 6 mm", "thickness: 0.1 mm")),
)  # fmt: skip


def _without_feeds(lines: list[str]) -> Edited:
    out = [re.sub(r"(?i)(?<![A-Z])F\s*[\d.]+", "", line) for line in lines]
    first = next((k for k, line in enumerate(out) if line != lines[k]), None)
    return None if first is None else (out, {first + 1, first + 2})


def _all_feeds(lines: list[str], factor: float) -> Edited:
    def scaled(match: re.Match[str]) -> str:
        return f"{match.group(1)}{float(match.group(2)) * factor:g}"

    out = [re.sub(r"(?i)(?<![A-Z])(F)\s*([\d.]+)", scaled, line) for line in lines]
    changed = {k + 1 for k, line in enumerate(out) if line != lines[k]}
    return (out, changed | {k + 1 for k in changed}) if changed else None


def _drill_feed(lines: list[str], factor: float) -> Edited:
    """All feeds of a program that only drills: seen where a hole is drilled."""
    holes = {
        k + 1
        for k, line in enumerate(lines)
        if re.search(r"(?i)G8[1-3]|^(N\d+\s*)?G0?1\s*Z-|^X.*Y|^Y|^X", line)
    }
    found = _all_feeds(lines, factor)
    if found is None or not any(re.search(r"(?i)G8[1-3]", line) for line in lines):
        return None
    return found[0], found[1] | holes


def _inch_feed(lines: list[str]) -> Edited:
    if not any("G20" in line.upper() for line in lines):
        return None
    return swap(r"(?<![A-Z])F\s*[\d.]+", "F3000", "middle")(lines)


def _at_top(lines: list[str], new: str) -> Edited:
    if any("G91" in line.upper() for line in lines):
        return None  # the word comes again before the first cut
    return swap(r"G90\b(?!\.)", new, "first")(lines)


def _centres(lines: list[str]) -> Edited:
    arcs = {k + 1 for k, line in enumerate(lines) if re.search(r"G0?[23].*I", line)}
    found = swap(r"G90\.1", "", "first")(lines)
    return (found[0], found[1] | arcs) if found and arcs else None


def _stays_incremental(lines: list[str]) -> Edited:
    found = swap(r"G90\b(?!\.)", "", "first", after="G91")(lines)
    at = next((k for k, line in enumerate(lines) if "G91" in line.upper()), 0)
    cuts = [k for k, line in enumerate(lines) if re.search(DEEP, line)]
    if found is None or not cuts or cuts[-1] < at + 2:
        return None  # nothing is cut after it
    return found[0], found[1] | {at + 1}


def _turned(lines: list[str]) -> Edited:
    at = next(
        (k for k, line in enumerate(lines) if re.search(r"(?i)G0?3\s*X\d+\.?\s*Y\d+\.?.*I", line)), None
    )
    straight = r"(?i)G0?1\s*[XY]|^[XY]"
    if at is None or not (re.search(straight, lines[at - 1]) and re.search(straight, lines[at + 1])):
        return None
    return swap(r"G0?3(?=\s*X\d)", "G2", "first")(lines)


def _sign(lines: list[str]) -> Edited:
    if any("90.1" in line for line in lines):
        return None
    x = y = ""
    at = None
    for k, line in enumerate(lines):
        words = dict(re.findall(r"(?i)([XY])\s*(-?[\d.]+)", line))
        new = words.get("X", x), words.get("Y", y)
        if new != (x, y) and re.search(r"(?i)G0?[23]\s*X.*I-?[1-9]", line):  # a full circle closes either way
            at = k
            break
        x, y = new
    if at is None:
        return None
    text = re.sub(r"(?i)I(-?)(?=[\d])", lambda m: "I" if m.group(1) else "I-", lines[at], count=1)
    return [*lines[:at], text, *lines[at + 1 :]], {at + 1}
