"""Past cuts that resemble a planned one, by what the cut does to cutter and machine, not by its name."""

from __future__ import annotations

import bisect
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from millcalc.cutlog import tuning
from millcalc.cutlog.cells import cells_around
from millcalc.cutlog.guard import guarded
from millcalc.cutlog.models import Entry, Stored
from millcalc.cutlog.schema import thinned
from millcalc.cutlog.store import Log
from millcalc.errors import LogError
from millcalc.units_show import MM_PER_INCH, System

_NEWEST_WITHOUT_CELL: Final = 2000
_FAILURES_SHOWN: Final = 2


@dataclass(frozen=True, slots=True)
class PlannedCut:
    """What a past cut is compared with; None where it is not known.

    machine, material, operation, cooling: Names, empty when open.
    diameter_mm, stickout_mm, axial_depth_mm, radial_width_mm, chip_mm: Cutter, stickout, ap, ae and largest
      chip thickness [mm].
    flutes: Cutting edges [-].
    kc11_n_mm2: Kienzle specific force of the material [N/mm2].
    """

    machine: str = ""
    material: str = ""
    operation: str = ""
    cooling: str = ""
    diameter_mm: float | None = None
    flutes: int | None = None
    kc11_n_mm2: float | None = None
    stickout_mm: float | None = None
    axial_depth_mm: float | None = None
    radial_width_mm: float | None = None
    chip_mm: float | None = None

    @classmethod
    def of(cls, entry: Entry) -> PlannedCut:
        """The cut of an entry, to look for others like it.

        entry: A cut.
        Returns: The same conditions and settings.
        """
        return cls(
            machine=entry.machine,
            material=entry.material,
            operation=entry.operation or "",
            cooling=entry.cooling or "",
            diameter_mm=entry.diameter_mm,
            flutes=entry.flutes,
            kc11_n_mm2=entry.kc11_n_mm2,
            stickout_mm=entry.stickout_mm,
            axial_depth_mm=entry.axial_depth_mm,
            radial_width_mm=entry.radial_width_mm,
            chip_mm=entry.largest_chip_mm,
        )


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A past cut, how far it is from the planned one, and what was different.

    stored: The past cut.
    distance: In units of dissimilarity [-].
    word: ``nearly the same``, ``close`` or ``related``.
    differences: Largest first, e.g. ``stickout 24, not 18 mm``.
    planned, past: What is compared.
    """

    stored: Stored
    distance: float
    word: str
    planned: PlannedCut
    past: PlannedCut

    def differences(self, units: System = "mm") -> tuple[str, ...]:
        """What was different then, in words; the largest first.

        units: ``mm`` or ``in``.
        """
        return differences(self.planned, self.past, units)


def _compliance(stickout_mm: float | None, diameter_mm: float | None) -> float | None:
    """Bending compliance of a plain cantilever but for a constant, L^3 / D^4 [1/mm]."""
    if stickout_mm is None or diameter_mm is None:
        return None
    return stickout_mm**3 / diameter_mm**4


def _steps(planned: PlannedCut, past: PlannedCut) -> list[float]:
    """Signed distance in each dimension [units of dissimilarity]; empty dimensions of the plan are left out."""
    pairs: tuple[tuple[float | None, float | None, float], ...] = (
        (planned.diameter_mm, past.diameter_mm, tuning.SIMILAR_DIAMETER_FACTOR),
        (planned.kc11_n_mm2, past.kc11_n_mm2, tuning.SIMILAR_FORCE_FACTOR),
        (planned.axial_depth_mm, past.axial_depth_mm, tuning.SIMILAR_DEPTH_FACTOR),
        (planned.chip_mm, past.chip_mm, tuning.SIMILAR_CHIP_FACTOR),
        (planned.radial_width_mm, past.radial_width_mm, tuning.SIMILAR_WIDTH_FACTOR),
        (planned.flutes, past.flutes, tuning.SIMILAR_FLUTES_FACTOR),
        (
            _compliance(planned.stickout_mm, planned.diameter_mm),
            _compliance(past.stickout_mm, past.diameter_mm),
            tuning.SIMILAR_COMPLIANCE_FACTOR,
        ),
    )
    steps = []
    for wanted, had, factor in pairs:
        if wanted is None:
            continue
        steps.append(
            tuning.SIMILAR_UNKNOWN if had is None else (math.log(had) - math.log(wanted)) / math.log(factor)
        )
    return steps


def distance(planned: PlannedCut, past: PlannedCut, origin: str = "own") -> float:
    """How unlike two cuts are.

    planned: The cut to be made; what it leaves open is not compared.
    past: The cut that was made.
    origin: Where the past cut comes from, as in an entry.
    Returns: Euclidean distance in the logarithms of D, kc1.1, ap, chip, ae, flutes and cutter compliance,
      each divided by its unit of dissimilarity [-]; names that differ add their own share. 0 is the same
      cut.

    >>> a = PlannedCut(diameter_mm=6.0, axial_depth_mm=0.5)
    >>> round(distance(a, PlannedCut(diameter_mm=6.0, axial_depth_mm=0.75)), 3)
    1.0
    """
    total = sum(step * step for step in _steps(planned, past))
    for wanted, had, units in (
        (planned.material, past.material, tuning.SIMILAR_OTHER_MATERIAL),
        (planned.cooling, past.cooling, tuning.SIMILAR_OTHER_COOLING),
        (planned.operation, past.operation, tuning.SIMILAR_OTHER_OPERATION),
        (planned.machine, past.machine, tuning.SIMILAR_OTHER_MACHINE),
    ):
        if wanted and wanted != had:
            total += units * units
    if origin == "somebody":
        total += tuning.SIMILAR_SOMEBODY**2
    return math.sqrt(total)


def differences(planned: PlannedCut, past: PlannedCut, units: System = "mm") -> tuple[str, ...]:
    """What was different then, in words, numbers first by how much they matter.

    planned: The cut to be made.
    past: The cut that was made.
    units: ``mm`` or ``in``.
    Returns: Empty when everything agrees within 2 %.
    """
    numbers = (
        ("cutter", units, planned.diameter_mm, past.diameter_mm, tuning.SIMILAR_DIAMETER_FACTOR),
        ("flutes", "", planned.flutes, past.flutes, tuning.SIMILAR_FLUTES_FACTOR),
        ("ap", units, planned.axial_depth_mm, past.axial_depth_mm, tuning.SIMILAR_DEPTH_FACTOR),
        ("ae", units, planned.radial_width_mm, past.radial_width_mm, tuning.SIMILAR_WIDTH_FACTOR),
        ("chip", units, planned.chip_mm, past.chip_mm, tuning.SIMILAR_CHIP_FACTOR),
        (
            "stickout",
            units,
            planned.stickout_mm,
            past.stickout_mm,
            tuning.SIMILAR_COMPLIANCE_FACTOR ** (1 / 3),
        ),
    )
    found: list[tuple[float, str]] = []
    for name, unit, wanted, had, factor in numbers:
        if wanted is None:
            continue
        scale = MM_PER_INCH if unit == "in" else 1.0
        if had is None:
            found.append((tuning.SIMILAR_UNKNOWN, f"{name} not noted"))
        elif abs(math.log(had / wanted)) > 0.02:
            step = abs(math.log(had / wanted)) / math.log(factor)
            found.append((step, f"{name} {had / scale:.3g}, not {wanted / scale:.3g} {unit}".rstrip()))
    names = (
        ("material", planned.material, past.material, tuning.SIMILAR_OTHER_MATERIAL),
        ("cooling", planned.cooling, past.cooling, tuning.SIMILAR_OTHER_COOLING),
        ("operation", planned.operation, past.operation, tuning.SIMILAR_OTHER_OPERATION),
        ("machine", planned.machine, past.machine, tuning.SIMILAR_OTHER_MACHINE),
    )
    found += [
        (away, f"{name} {had or 'not noted'}, not {wanted}")
        for name, wanted, had, away in names
        if wanted and wanted != had
    ]
    return tuple(text for _, text in sorted(found, key=lambda item: -item[0]))


def similar_cuts(
    log: Log, planned: PlannedCut, count: int = 5, *, only_machine: bool = False
) -> list[Neighbour]:
    """Past cuts nearest to a planned one, nearest first; close failures are always among them.

    log: Open log.
    planned: The cut to be made.
    count: Most cuts wanted [-]; up to two failures that are close come on top of it.
    only_machine: Leave out cuts of other machines instead of setting them back.
    Returns: None farther than ``tuning.SIMILAR_RELATED``.

    Note: Exact while no cell of the grid holds more than ``tuning.SIMILAR_PER_CELL`` cuts; of a fuller cell
      the newest are looked at. Cuts for which D, kc1.1, ap or chip were not noted are compared among the
      newest 2000 of them.
    """
    while True:
        chosen = _nearest(log, planned, count, only_machine)
        found = [_neighbour(log, planned, away, -number) for away, _, number in chosen]
        if None not in found:
            return [one for one in found if one is not None]


def _nearest(log: Log, planned: PlannedCut, count: int, only_machine: bool) -> list[_Ranked]:
    """The nearest and the close failures, without those that are known to be unreadable."""
    nearest: list[_Ranked] = []
    failures: list[_Ranked] = []
    for bound, rows in _candidate_rows(log, planned, only_machine):
        enough = count <= 0 or (len(nearest) == count and bound > nearest[-1][0])
        failed_enough = len(failures) == _FAILURES_SHOWN and bound > failures[-1][0]
        if enough and (failed_enough or bound > tuning.SIMILAR_CLOSE):
            break
        for row in rows:
            item = None if row[0] in log.left_out else _ranked(log, planned, row)
            if item is None or item[0] > tuning.SIMILAR_RELATED:
                continue
            _keep(nearest, item, count)
            if row[3] == "failed" and item[0] <= tuning.SIMILAR_CLOSE:
                _keep(failures, item, _FAILURES_SHOWN)
    shown = set(nearest)
    return nearest + [item for item in failures if item not in shown]


def _ranked(log: Log, planned: PlannedCut, row: tuple[Any, ...]) -> _Ranked | None:
    """Where a row stands; None for one that cannot be compared because it is damaged."""
    try:
        return distance(planned, _past_of(row), row[2]), -_microseconds(row[1]), -row[0]
    except (ValueError, TypeError, ArithmeticError):
        _readable(log, row[0])
        return None


def _readable(log: Log, number: int) -> Stored | None:
    """An entry; one that cannot be read is put among those left out."""
    try:
        return log.get(number)
    except LogError as error:
        log.left_out[number] = error
        return None


_Ranked = tuple[float, int, int]  # distance, minus time, minus number: sorts nearest first, then newest
_COMPARED: Final = (
    "number, cut_at, origin, outcome, machine, material, operation, cooling, diameter_mm, flutes, kc11_n_mm2,"
    " stickout_mm, axial_depth_mm, radial_width_mm, chip_mm, feed_mm_min * override_percent / 100.0, speed_rpm"
)


def _past_of(row: tuple[Any, ...]) -> PlannedCut:
    """The compared values of a row of ``_COMPARED``."""
    diameter, flutes, kc11, stickout, depth, width, chip, feed, speed = row[8:]
    if chip is None and None not in (feed, speed, flutes):
        chip = thinned(feed / (flutes * speed), width, diameter)
    names = (row[4], row[5], row[6] or "", row[7] or "")
    return PlannedCut(*names, diameter, flutes, kc11, stickout, depth, width, chip)


def _microseconds(text: str) -> int:
    return int(datetime.fromisoformat(text).timestamp() * 1e6)


def _keep(best: list[_Ranked], item: _Ranked, most: int) -> None:
    """Put an item into the sorted list in place, and drop the farthest when there are too many."""
    if most <= 0 or (len(best) == most and item >= best[-1]):
        return
    bisect.insort(best, item)
    del best[most:]


def _candidate_rows(
    log: Log, planned: PlannedCut, only_machine: bool
) -> Iterator[tuple[float, list[tuple[Any, ...]]]]:
    """Smallest possible distance and the rows of each cell, nearest cell first, read as they are asked for."""
    of_machine = "AND machine = ?" if only_machine and planned.machine else ""
    names = [planned.machine] if of_machine else []
    newest = f"removed = 0 {of_machine} ORDER BY cut_at DESC LIMIT"
    diameter, kc11, depth, chip = (
        planned.diameter_mm,
        planned.kc11_n_mm2,
        planned.axial_depth_mm,
        planned.chip_mm,
    )
    run = log.connection.execute
    with guarded(log.path):
        if diameter is None or kc11 is None or depth is None or chip is None:
            sql = f"SELECT {_COMPARED} FROM cuts WHERE {newest} {_NEWEST_WITHOUT_CELL}"
            yield 0.0, run(sql, names).fetchall()
            return
        indexed = f"SELECT {_COMPARED} FROM cuts INDEXED BY cuts_by_cell"  # else the planner may walk a machine's cuts
        sql = f"{indexed} WHERE cell IS NULL AND {newest} {_NEWEST_WITHOUT_CELL}"
        yield 0.0, run(sql, names).fetchall()
        sql = f"{indexed} WHERE cell = ? AND {newest} {tuning.SIMILAR_PER_CELL}"
        for bound, cell in cells_around(diameter, kc11, depth, chip):
            if bound > tuning.SIMILAR_RELATED:
                return
            yield bound, run(sql, [cell, *names]).fetchall()


def _neighbour(log: Log, planned: PlannedCut, away: float, number: int) -> Neighbour | None:
    stored = _readable(log, number)
    if stored is None:
        return None
    word = (
        "nearly the same"
        if away <= tuning.SIMILAR_SAME
        else "close"
        if away <= tuning.SIMILAR_CLOSE
        else "related"
    )
    return Neighbour(stored, away, word, planned, PlannedCut.of(stored.entry))


def support_words(neighbours: Sequence[Neighbour]) -> str:
    """How far the log stands behind a planned cut, in a few words.

    neighbours: What :func:`similar_cuts` found.
    Returns: For example ``3 own good cuts nearly the same, 1 failed close by``, or ``computed only``.
    """
    own = [n for n in neighbours if n.stored.entry.origin != "somebody" and n.word != "related"]
    good = [n for n in own if n.stored.entry.outcome == "good"]
    failed = [n for n in own if n.stored.entry.outcome == "failed"]
    words = []
    if good:
        nearest = min(good, key=lambda n: n.distance).word
        same = sum(n.word == nearest for n in good)
        words.append(f"{same} own good cut{'s' if same > 1 else ''} {nearest}")
    if failed:
        words.append(f"{len(failed)} failed {min(failed, key=lambda n: n.distance).word}")
    if not words and any(n.stored.entry.origin == "somebody" for n in neighbours):
        words.append("somebody's recipe only")
    return ", ".join(words) or "computed only"
