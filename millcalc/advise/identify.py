"""What an unknown metal may be: density first, then what magnet, vinegar, bending and drilling say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from millcalc.advise import tuning
from millcalc.advise.metals import Bend, Drill, Magnet, Metal, Vinegar, metals
from millcalc.errors import TableError
from millcalc.tables import load_material

Verdict = Literal["refuse", "weigh", "unclear", "nothing", "known"]


@dataclass(frozen=True)
class Answers:
    """What the person found out; None where a test was not made.

    density_kg_m3: Least density, density as read, greatest density [kg/m3].
    magnet, vinegar, bend, drill: Answers in the words of :mod:`millcalc.advise.metals`.
    """

    density_kg_m3: tuple[float, float, float] | None = None
    magnet: Magnet | None = None
    vinegar: Vinegar | None = None
    bend: Bend | None = None
    drill: Drill | None = None


@dataclass(frozen=True)
class Identified:
    """What a piece may be.

    answers: What was found out.
    verdict: ``refuse``: may be a metal that must not be cut here; ``weigh``: no density yet, so magnesium
      is not excluded; ``nothing``: fits no metal of the table; ``unclear``: may also be a metal without a
      row in the tables; ``known``: every metal it may be has rows.
    families: What it may be.
    materials: Rows of the tables that are left.
    reasons: What each test left out, and contradictions.
    next_tests: Tests that would tell more.
    """

    answers: Answers
    verdict: Verdict
    families: dict[str, Metal]
    materials: tuple[str, ...]
    reasons: tuple[str, ...]
    next_tests: tuple[str, ...]


def identify(answers: Answers) -> Identified:
    """Narrow down what a piece of metal may be.

    answers: What was found out.
    Returns: What is left, and what to test next.

    Note: Errs to the safe side: magnesium is only left out by a density that excludes it, or by a magnet
      that sticks; vinegar that does not bubble leaves nothing out, since paint, oil or an oxide skin keeps
      it off; where vinegar bubbles and the density says another light metal, the piece is refused. A
      density leaves out lighter alloys and never heavier ones: holes and rounded edges make a piece read
      light, nothing makes it read heavy. Answers that contradict each other narrow nothing.
    """
    reasons: list[str] = []
    left = dict(metals())
    if answers.density_kg_m3 is not None:
        left = {key: metal for key, metal in left.items() if _may_weigh(metal, answers.density_kg_m3)}
    if answers.magnet is not None:
        kept = {key: metal for key, metal in left.items() if metal.magnet in (answers.magnet, "either")}
        gone = [left[key].title for key in left if key not in kept]
        if gone and answers.density_kg_m3 is not None:
            reasons.append(f"magnet {_magnet_words(answers.magnet)}: not {', '.join(gone)}")
        left = kept
    light = answers.density_kg_m3 is None or answers.density_kg_m3[0] < tuning.ALLOY_LIGHT_KG_M3
    if answers.vinegar == "bubbles" and light and answers.magnet != "sticks":
        reasons.append("vinegar bubbles on a light metal: magnesium, until something else explains it")
        left = {"magnesium": metals()["magnesium"], **left}
    if any(metal.verdict == "refuse" for metal in left.values()) and answers.density_kg_m3 is not None:
        return Identified(answers, "refuse", left, (), tuple(reasons), _next_tests(answers, left))
    if "magnesium" in left:
        verdict: Verdict = "refuse" if answers.vinegar == "bubbles" else "weigh"
        return Identified(answers, verdict, left, (), tuple(reasons), _next_tests(answers, left))
    if not left:
        return Identified(answers, "nothing", left, (), tuple(reasons), _next_tests(answers, left))
    materials: tuple[str, ...] = ()
    for metal in (one for one in left.values() if one.alloys):
        rows, said = _narrow(metal, answers)
        materials += rows
        reasons += said
    verdict = "known" if all(metal.verdict == "cut" for metal in left.values()) else "unclear"
    return Identified(answers, verdict, left, materials, tuple(reasons), _next_tests(answers, left))


def _may_weigh(metal: Metal, density: tuple[float, float, float]) -> bool:
    return density[0] <= metal.density_kg_m3.high and density[2] >= metal.density_kg_m3.low


def _magnet_words(magnet: Magnet) -> str:
    return "sticks" if magnet == "sticks" else "does not stick"


def _narrow(metal: Metal, answers: Answers) -> tuple[tuple[str, ...], list[str]]:
    """Rows of a family that go with the answers; all of them where the answers contradict each other."""
    everything = tuple(alloy.material for alloy in metal.alloys)
    left, reasons = everything, []
    answered: list[tuple[str, list[str]]] = []
    if answers.bend is not None:
        answered.append(("bent", [one.material for one in metal.alloys if answers.bend in one.bend]))
    if answers.drill is not None:
        answered.append(("drilled", [one.material for one in metal.alloys if answers.drill in one.drill]))
    if answers.density_kg_m3 is not None:
        heavy = [name for name in everything if not _lighter_than(name, answers.density_kg_m3[0])]
        answered.append(("weighed", heavy))
    for how, kept in answered:
        gone = [name for name in left if name not in kept]
        if gone:
            reasons.append(f"{how}: not {', '.join(gone)}")
        left = tuple(name for name in left if name in kept)
    if left:
        return left, reasons
    return everything, [f"the tests contradict each other ({'; '.join(reasons)}): nothing is left out"]


def _lighter_than(name: str, least_kg_m3: float) -> bool:
    """Whether an alloy is lighter than the piece can be."""
    try:
        value = load_material(name).density_kg_m3
    except TableError:
        return False
    return value.highest * (1 + tuning.ALLOY_DENSITY_SPREAD) < least_kg_m3


def _next_tests(answers: Answers, left: dict[str, Metal]) -> tuple[str, ...]:
    """Tests that were not made and could tell more."""
    tests = []
    if answers.density_kg_m3 is None:
        tests.append(
            'weigh and measure a solid piece without holes: --weight "324 g" --size "200 x 100 x 6 mm"; of another '
            'shape, hang it into a vessel of water on the scale: --displaced "120 g" is what it then shows more'
        )
    elif "magnesium" in left and len(left) > 1:
        tests.append("weigh and measure a larger piece, so that the range becomes narrower")
    if answers.magnet is None and len({metal.magnet for metal in left.values()}) > 1:
        tests.append("a magnet on a clean spot: --magnet sticks or --magnet no")
    if answers.vinegar is None and "magnesium" in left and len(left) > 1:
        tests.append(
            "a drop of vinegar on a spot scraped bare, one minute: --vinegar bubbles or --vinegar none; no bubbles "
            "prove nothing"
        )
    several = len(left) == 1 and len(next(iter(left.values())).alloys) > 1
    if several and answers.bend is None:
        tests.append(
            "bend a thin offcut, glasses on: folds flat without a crack --bend flat, springs back --bend springs, "
            "breaks or cracks --bend cracks"
        )
    if several and answers.drill is None:
        tests.append(
            "drill a 3 mm hole dry in a drill press, piece clamped, glasses on: long curls that smear --drill "
            "strings, short broken chips --drill short"
        )
    return tuple(tests)
