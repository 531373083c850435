"""Choose screws: one or more for every piece that stays, enough for the forces, near every cut, in the waste."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import MotionTable
from millcalc.holding import tuning
from millcalc.holding.forces import Demand, most_loaded_n
from millcalc.holding.regions import Regions
from millcalc.holding.room import Places
from millcalc.holding.spread import farthest_mm, spread, thin
from millcalc.preflight.context import Context
from millcalc.preflight.geometry import places_mm
from millcalc.preflight.tuning import HEADS_APART_MM

Floats = NDArray[np.float64]
SHARES = np.linspace(0.0, 1.0, 9)  # places along each motion
MOST_ROWS = 20_000  # cutting motions whose places are looked at; evenly chosen beyond
MOST_NEAR = 4000  # places along the cuts that are matched with the pieces beside them
FIRMER_PLACES, FIRMER_ROUNDS = 60, 3  # places tried for a lower load, and rounds of exchanges
FIRMER_FROM = 1.6  # times what a screw holds: a load beyond needs more screws, not better places
HULL_WAYS = 64  # directions whose farthest place is kept: the ends of every lever


@dataclass(frozen=True)
class CutPoints:
    """Places along the cuts.

    at_mm: Places, thinned to a few hundred [mm].
    by_tool: Outermost places of each tool's cuts [mm].
    by_piece: The same for the cuts beside each piece.
    """

    at_mm: Floats
    by_tool: dict[int, Floats]
    by_piece: list[dict[int, Floats]]


def cut_points(ctx: Context, regions: Regions) -> CutPoints:
    """Places where the cutter cuts, seen from above.

    ctx: Program, set-up and simulated cut.
    regions: The pieces that are left.
    Returns: For the spread of the screws and for the levers of the forces.
    """
    facts, motions = ctx.facts, ctx.program.motions
    by_tool: dict[int, Floats] = {}
    by_piece: list[dict[int, Floats]] = [{} for _ in regions.cells]
    everything = [np.zeros((0, 2))]
    for tool, rows in facts.split(facts.cutting):
        points = _along(motions, rows)
        everything.append(points)
        by_tool[tool] = _outermost(points)
        fitted = facts.fitted(tool)
        reach = (fitted.cutter.diameter_mm / 2 if fitted else 0.0) + 2 * regions.field.cell_mm
        few = points[:: max(1, len(points) // MOST_NEAR)]
        angles = np.arange(8) * (np.pi / 4)
        ring = reach * np.column_stack([np.cos(angles), np.sin(angles)])
        beside, _ = regions.look_up((few[:, None, :] + ring[None]).reshape(-1, 2))
        beside = beside.reshape(len(few), 8)
        for index in range(min(len(regions.cells), tuning.SCREWS_PIECES)):
            mine = few[(beside == index).any(axis=1)]
            if len(mine):
                by_piece[index][tool] = _outermost(mine)
    points = np.vstack(everything)
    return CutPoints(points[thin(points, np.zeros(len(points)), tuning.SCREWS_CUT_POINTS)], by_tool, by_piece)


def _along(motions: MotionTable, rows: NDArray[np.intp]) -> Floats:
    rows = rows[:: max(1, -(-len(rows) // MOST_ROWS))]
    points = places_mm(motions, rows, SHARES)[..., :2].reshape(-1, 2)
    return np.asarray(points[np.isfinite(points).all(axis=1)])


def _outermost(points: Floats) -> Floats:
    """The farthest place in each of many directions: where a force has its longest lever."""
    if len(points) <= HULL_WAYS:
        return points
    angles = np.arange(HULL_WAYS) * (2 * np.pi / HULL_WAYS)
    ways = np.column_stack([np.cos(angles), np.sin(angles)])
    return np.asarray(points[np.unique(np.argmax(points @ ways.T, axis=0))])


def load_n(screws_mm: Floats, points: dict[int, Floats], demands: tuple[Demand, ...]) -> float | None:
    """Pull that the most loaded of some screws needs.

    screws_mm: The screws [mm].
    points: Where each tool cuts [mm].
    demands: Forces of each tool.
    Returns: Pull [N]; None where no force is known or nothing is cut.
    """
    loads = [
        most_loaded_n(points[demand.tool], screws_mm, demand.side_n, demand.lift_n)
        for demand in demands
        if demand.tool in points and len(points[demand.tool])
    ]
    return max(loads) if loads else None


@dataclass
class Plan:
    """A proposal in the making.

    chosen_mm: New screws of each piece [mm].
    loads_n: Pull that the most loaded screw of each piece needs [N].
    problems: What does not hold.
    """

    chosen_mm: list[Floats]
    loads_n: list[float | None]
    problems: list[str] = field(default_factory=list)


class Planner:
    """Chooses screws piece by piece.

    ctx: Program, set-up and simulated cut.
    regions: The pieces that are left.
    places: Where a screw can stand.
    kept_mm: Screws of the job that are kept, of each piece [mm].
    clamped: Pieces that a clamp holds.
    head_mm: Radius of the head [mm].
    """

    def __init__(
        self,
        ctx: Context,
        regions: Regions,
        places: Places,
        kept_mm: list[Floats],
        clamped: set[int],
        head_mm: float,
    ) -> None:
        self.say = ctx.say
        self.regions, self.places, self.kept, self.clamped = regions, places, kept_mm, clamped
        self.apart_mm = 2 * head_mm + HEADS_APART_MM
        self.points = cut_points(ctx, regions)
        self.count = min(len(regions.cells), tuning.SCREWS_PIECES)
        self.open = [self._places_of(index) for index in range(self.count)]

    def _places_of(self, index: int) -> Places:
        """Places in a piece: in the rim where it has any there, else inside the cut outline; thinned."""
        mine = self.places.take(self.places.piece == index)
        if mine.rim.any():
            mine = mine.take(mine.rim)
        kept = np.zeros(len(mine.at_mm), bool)
        kept[thin(mine.at_mm, mine.spare_mm)] = True
        return mine.take(kept)

    def least(self, index: int) -> int:
        """Screws that a piece starts from [-].

        index: The piece [-].
        Returns: Kept ones included.
        """
        if index in self.clamped:
            return 0
        if index == 0:
            return tuning.SCREWS_LEAST
        x0, x1, y0, y1 = self.regions.box_mm(index)
        return 2 if max(x1 - x0, y1 - y0) >= tuning.SCREWS_TWO_FROM_MM else 1

    def choose(self, index: int, new: int) -> Floats:
        """Choose so many new screws for a piece.

        index: The piece [-].
        new: New screws [-].
        Returns: Their places, fewer where there is no more room [mm].
        """
        places = self.open[index]
        beside = list(self.points.by_piece[index].values())
        if index == 0:
            points = self.points.at_mm
        elif beside:  # near its outline a screw has the longest lever against turning
            points = np.vstack(beside)
        else:
            points = self.regions.some_places(index, tuning.SCREWS_CUT_POINTS)
        chosen = spread(places.at_mm, places.spare_mm, points, self.kept[index], new, self.apart_mm)
        return places.at_mm[chosen]

    def plan(
        self,
        demands: tuple[Demand, ...],
        holds_n: float | None,
        span_limit_mm: float | None,
        total: int | None,
    ) -> Plan:
        """Choose screws for every piece.

        demands: Forces of each tool.
        holds_n: Pull that one screw holds [N]; None where unknown.
        span_limit_mm: Distance of a cut from its nearest screw to stay under [mm].
        total: Screws altogether, kept ones included; None chooses enough [-].
        Returns: The new screws, loads, and what does not hold.
        """
        plan = Plan([np.zeros((0, 2)) for _ in range(self.count)], [None] * self.count)
        wanted = self._shared_out(total) if total is not None else None
        order = [*range(1, self.count), 0] if self.count else []
        for index in order:
            kept = self.kept[index]
            start = wanted[index] if wanted is not None else self.least(index)
            most = start
            if wanted is None and start:
                most = max(start, tuning.SCREWS_MOST if index == 0 else tuning.SCREWS_MOST_IN_PIECE)
            for number in range(start, most + 1):
                plan.chosen_mm[index] = self.choose(index, number - len(kept))
                mine = np.vstack([kept, plan.chosen_mm[index]])
                load = load_n(mine, self.points.by_piece[index], demands) if len(mine) else None
                if load is not None and holds_n is not None and holds_n < load <= FIRMER_FROM * holds_n:
                    plan.chosen_mm[index], load = self._firmer(index, plan.chosen_mm[index], demands, load)
                    mine = np.vstack([kept, plan.chosen_mm[index]])
                plan.loads_n[index] = load
                enough = load is None or holds_n is None or index in self.clamped or load <= holds_n
                if index == 0:
                    every = self.everything(plan)
                    whole = load_n(every, self.points.by_tool, demands) if len(every) else None
                    enough &= whole is None or holds_n is None or bool(self.clamped) or whole <= holds_n
                    span = farthest_mm(self.points.at_mm, every)
                    enough &= span is None or span_limit_mm is None or span <= span_limit_mm
                if enough or len(mine) < number:
                    break
        self._tell(plan, holds_n)
        return plan

    def _firmer(
        self, index: int, chosen: Floats, demands: tuple[Demand, ...], load: float
    ) -> tuple[Floats, float]:
        """Exchange one screw at a time for a place that lowers the load on the most loaded one."""
        places = self.open[index]
        tried = places.at_mm[thin(places.at_mm, places.spare_mm, FIRMER_PLACES)]
        points = self.points.by_piece[index]
        chosen = chosen.copy()
        for _ in range(FIRMER_ROUNDS):
            before = load
            for slot in range(len(chosen)):
                others = np.vstack([self.kept[index], np.delete(chosen, slot, axis=0)])
                for place in tried:
                    if len(others) and np.hypot(*(others - place).T).min() < self.apart_mm:
                        continue
                    found = load_n(np.vstack([others, place]), points, demands)
                    if found is not None and found < load - 1e-9:
                        load, chosen[slot] = found, place
            if load >= before:
                break
        return chosen, load

    def everything(self, plan: Plan) -> Floats:
        """All screws of a plan, kept ones included.

        plan: The plan.
        Returns: Places [mm].
        """
        return np.vstack([np.zeros((0, 2)), *self.kept, *plan.chosen_mm])

    def _shared_out(self, total: int) -> list[int]:
        """A given number of screws over the pieces: the sheet keeps two at least, then the largest pieces first."""
        wanted = [0] * self.count
        if not self.count:
            return wanted
        others = [k for k in range(1, self.count) if k not in self.clamped]
        left = total - sum(len(kept) for kept in self.kept)
        main = 0 if 0 in self.clamped else max(0, min(2, total) - len(self.kept[0]))
        left -= main
        for extra in (1, 2):
            for k in others:
                have = len(self.kept[k]) + wanted[k]
                if left > 0 and have < extra <= self.least(k) and len(self.open[k].at_mm):
                    wanted[k] += 1
                    left -= 1
        wanted[0] = main + max(0, left)
        return [new + len(kept) for new, kept in zip(wanted, self.kept, strict=False)]

    def _tell(self, plan: Plan, holds_n: float | None) -> None:
        for index in range(self.count):
            if index in self.clamped:
                continue
            count = len(self.kept[index]) + len(plan.chosen_mm[index])
            x0, x1, y0, y1 = self.regions.box_mm(index)
            name = "the sheet" if index == 0 else (
                f"the piece of {self.say.mm(x1 - x0, 1.0)} by {self.say.mm(y1 - y0, 1.0)} about "
                f"{self.say.point(((x0 + x1) / 2, (y0 + y1) / 2, 0.0))}"
            )  # fmt: skip
            load = plan.loads_n[index]
            if count == 0:
                room = len(self.open[index].at_mm)
                how = "no screw is left for it" if room else "there is no place for a screw in it"
                what = "clamp it, or use tape or vacuum" if index == 0 else (
                    "leave it on tabs, or mill all of it away"
                )  # fmt: skip
                plan.problems.append(f"{name}: {how}; {what}")
            elif load is not None and holds_n is not None and load > holds_n:
                needs, has = self.say.newtons(load, holds_n)
                plan.problems.append(
                    f"{name}: the most loaded of {count} screws would need {needs} of pull, one "
                    f"holds {has}; longer screws, shallower passes, "
                    + ("or clamps besides" if index == 0 else "or tabs")
                )
