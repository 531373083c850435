"""The centre of an arc that is given by centre words, read the way it fits."""

from __future__ import annotations

import math

from millcalc.gcode.arc_case import OFFSETS, ArcBlock, Centre, rounding_mm


def centre_by_words(arc: ArcBlock) -> Centre | None:
    """Find the centre of an arc from its I, J, K words.

    arc: The block, with centre words.
    Returns: Centre and radius [mm]; None when there is no such arc, a problem then says why.
    """
    case, words = arc.case, arc.block.words
    a, b, _ = case.axes
    i, j = (words[letter][0] * case.unit if letter in words else 0.0 for letter in (OFFSETS[a], OFFSETS[b]))
    sa, sb, ea, _ = case.ends
    if case.absolute and not (OFFSETS[a] in words and OFFSETS[b] in words):
        both = f"{OFFSETS[a]} and {OFFSETS[b]}"
        fact = f"with absolute arc centres (G90.1) both {both} must be given"
        arc.tell("ARC-02", fact, f"write {both}", both)
        return None
    relative, fixed = (sa + i, sb + j), (i + case.shift[a], j + case.shift[b])
    ca, cb = fixed if case.absolute else relative
    radius, other = _radii(arc, (ca, cb))
    if radius == 0.0 or other == 0.0:
        fact = "the radius of the arc is zero: its centre lies on its start or end"
        arc.tell("ARC-09", fact, "correct the centre words", "a centre away from the ends")
        return None
    gap = abs(other - radius)
    if not case.absolute and math.isnan(gap) and not math.isnan(ea - sa):
        return ca, cb, math.hypot(i, j)
    if not gap > case.tolerance_mm + 1e-9:
        return ca, cb, radius
    shown = case.shown
    fact = (
        f"the start is {shown(radius)} from the centre, the end {shown(other)}: they differ by {shown(gap)}"
    )
    if gap <= rounding_mm(radius):
        _rounded(arc, fact, gap)
        return ca, cb, radius
    return _misfit(arc, fact, gap, radius, relative if case.absolute else fixed)


def _radii(arc: ArcBlock, centre: tuple[float, float]) -> tuple[float, float]:
    """Distances of start and end from a centre [mm]."""
    (ca, cb), (sa, sb, ea, eb) = centre, arc.case.ends
    return math.sqrt((sa - ca) ** 2 + (sb - cb) ** 2), math.sqrt((ea - ca) ** 2 + (eb - cb) ** 2)


def _rounded(arc: ArcBlock, fact: str, gap_mm: float) -> None:
    limit = arc.case.tolerance_mm
    shown = arc.case.shown(limit)
    arc.tell(
        "ARC-04",
        f"{fact}, more than the {shown} of RS-274/NGC; rounding of the numbers explains it",
        "let the program be written with one more decimal",
        f"a difference of at most {shown}",
        blocks=False,
        measured=gap_mm,
        limit=limit,
        unit="mm",
    )


def _misfit(
    arc: ArcBlock, fact: str, gap_mm: float, radius_mm: float, other_way: tuple[float, float]
) -> Centre | None:
    """An arc that does not close; where its centre words fit when read the other way, it is carried out so."""
    case = arc.case
    sa, sb, ea, eb = case.ends
    oa, ob = other_way
    first, second = math.hypot(sa - oa, sb - ob), math.hypot(ea - oa, eb - ob)
    fits = first > 0 and abs(first - second) <= rounding_mm(first)
    limit = rounding_mm(radius_mm)
    action = "correct the end point or the centre words"
    expected = f"a difference of at most {case.shown(limit)}"
    if fits:
        expected = "centres written the other way"  # one cause: told once, whatever the radius
        read_as = "a distance from the start point" if case.absolute else "coordinates"
        fact += f"; read as {read_as} the centre fits, and so it is judged"
        action = (
            "the program writes centres as coordinates (G90.1): have it written with distances from the start"
        )
        if case.absolute:
            action = (
                "the program writes centres as distances from the start (G91.1): set that, or write it so"
            )
    arc.tell("ARC-03", fact, action, expected, measured=gap_mm, limit=limit, unit="mm")
    return (oa, ob, first) if fits else None  # carried out as it fits: nothing else follows from it
