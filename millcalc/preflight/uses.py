"""How much of every depth limit each cut uses, as the advice would judge it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.preflight.context import Context, once
from millcalc.preflight.distinct import distinct_rows
from millcalc.preflight.facts import STILL_MM
from millcalc.preflight.limits import SLOT_SHARE, limits, tooling

if TYPE_CHECKING:
    from millcalc.limits.tooling import Tooling

Floats = NDArray[np.float64]
ALL_OF_IT = 0.999  # of the cutting length; from here on all of it was judged
ROUNDED = ("ball", "bull-nose", "tapered ball", "vee", "engraving")
OVER = 1.02  # of a limit; rounding may use this much of it
RESERVE_SLACK = 1.05  # of a first cut's reserve; rounding a depth or a dial step may use this much more
THINNEST_MM = 1e-3  # mm; thinner is no cut
MOST_CASES = 4000  # different cuts judged one by one; beyond, they are rounded more coarsely


@dataclass(frozen=True)
class CutUses:
    """The cuts of one tool, level or sloped, and what they use of each limit.

    tool: Tool number [-].
    tooling: What cuts what.
    rows: Rows of the motion table [-].
    depth_mm, width_mm: Depth and width of each cut [mm].
    rpm, chip_mm: Speed [rev/min] and feed per tooth [mm].
    uses: Share of each limit's whole value by key; above 1 the limit does not hold [-].
    first: The same shares against what a first cut may use [-].
    chatter: How prone each cut is to chatter; a hint, worth a note from 1 [-].
    """

    tool: int
    tooling: Tooling
    rows: NDArray[np.intp]
    depth_mm: Floats
    width_mm: Floats
    rpm: Floats
    chip_mm: Floats
    uses: dict[str, Floats]
    first: dict[str, Floats]
    chatter: Floats

    def slots(self) -> NDArray[np.bool_]:
        """Cuts so wide that they count as slots."""
        return np.asarray(self.width_mm >= SLOT_SHARE * self.tooling.cutter.diameter_mm)

    def over(self) -> NDArray[np.bool_]:
        """Cuts beyond a limit; where none is, those beyond a first cut's reserve."""
        beyond = np.max(np.vstack([*self.uses.values()]), axis=0) > OVER
        if beyond.any():
            return np.asarray(beyond)
        return np.asarray(np.max(np.vstack([*self.first.values()]), axis=0) > RESERVE_SLACK)

    def worst(self) -> tuple[Floats, list[str]]:
        """Largest use of each cut [-], and which limit that is."""
        keys = list(self.uses)
        table = np.vstack([self.uses[key] for key in keys])
        return table.max(axis=0), [keys[k] for k in table.argmax(axis=0)]


@once
def cut_uses(ctx: Context) -> tuple[list[CutUses], list[tuple[int, str]]]:
    """Judge every cut with a sideways part, one entry a tool.

    ctx: Program and set-up.
    Returns: What could be judged; and what not and why, with the share of the tool's cutting length.
    """
    facts = ctx.facts
    done: list[CutUses] = []
    left: list[tuple[int, str]] = []
    for tool, every in facts.split(facts.cutting & (facts.plan_mm > STILL_MM)):
        fitted = facts.fitted(tool)
        if fitted is not None and fitted.cutter.kind in ("twist drill", "spot drill"):
            continue
        found = tooling(ctx, tool)
        if isinstance(found, str):
            left.append((tool, found))
            continue
        rows = every[facts.milling[every]]
        depth, chip = facts.depth_mm[rows], facts.chip_mm[rows]
        good = np.isfinite(depth) & np.isfinite(chip) & (chip > 0)
        length = facts.motions.length_mm
        share = float(length[rows[good]].sum() / max(length[every].sum(), 1e-9))
        if share < ALL_OF_IT:
            why = _why_not(depth, chip, len(rows) < len(every))
            left.append((tool, f"{why}; judged: {100 * share:.0f} % of its cutting length"))
        rows = rows[good & (depth > THINNEST_MM)]
        if len(rows):
            done.append(_uses(ctx, tool, found, rows))
    return done, left


def judged_share(ctx: Context) -> float | None:
    """Share of the cutting length whose depth, width, chip, force or plunge was held against limits.

    ctx: Program and set-up.
    Returns: 0 to 1 [-]; None where nothing cuts.
    """
    facts, length = ctx.facts, ctx.facts.motions.length_mm
    whole = float(np.nansum(length[facts.cutting]))
    if whole <= 0:
        return None
    good = np.zeros(facts.n, bool)
    for cut in cut_uses(ctx)[0]:
        good[cut.rows] = True
    scraped = (
        facts.cutting & facts.milling & (facts.depth_mm <= THINNEST_MM)
    )  # too thin for any limit to matter
    plunges = facts.cutting & facts.going_down & ~facts.milling
    for tool, rows in facts.split((plunges | scraped) & np.isfinite(facts.chip_mm)):
        good[rows] = limits(ctx, tool) is not None
    return float(np.nansum(length[good & facts.cutting])) / whole


def _why_not(depth_mm: Floats, chip_mm: Floats, steep: bool) -> str:
    if not np.isfinite(depth_mm).all():
        return (
            "the depth of its cuts is unknown"
            if np.isnan(depth_mm).all()
            else "the depth of some cuts is unknown"
        )
    if not (np.isfinite(chip_mm) & (chip_mm > 0)).all():
        return "its speed or feed is unknown or zero"
    return "some cuts go down steeper than 45 degrees, as plunges do" if steep else "its length is unknown"


def _uses(ctx: Context, tool: int, found: Tooling, rows: NDArray[np.intp]) -> CutUses:
    from millcalc.limits.depths import chatter
    from millcalc.limits.judge import depth_uses
    from millcalc.limits.request import CutRequest
    from millcalc.limits.state import State

    facts, diameter = ctx.facts, found.cutter.diameter_mm
    width = np.clip(np.nan_to_num(facts.width_mm[rows], nan=diameter), 0.01 * diameter, diameter)
    depth = facts.depth_mm[rows]
    if ctx.removal is not None and found.cutter.kind in ROUNDED:
        # what stands beside a rounded or pointed end adds height, but next to no material: its mean height counts
        depth = np.minimum(depth, np.maximum(ctx.removal.section_mm2[rows] / width, 1e-3))
    slot = width >= SLOT_SHARE * diameter
    cases, back = distinct_cuts(
        facts.rpm[rows], facts.chip_mm[rows], depth, np.where(slot, diameter, width), slot
    )
    uses: dict[str, Floats] = {}
    first: dict[str, Floats] = {}
    hint = np.zeros(len(cases))
    for is_slot in (True, False):
        some = cases[:, 4] == float(is_slot)
        if some.any():
            request = CutRequest("slot" if is_slot else "side", proven=True)
            columns = [cases[some, k] for k in range(4)]
            careful = CutRequest(request.cut)
            for into, asked in ((uses, request), (first, careful)):
                for key, value in depth_uses(found, asked, *columns).items():
                    into.setdefault(key, np.zeros(len(cases)))[some] = value
            hint[some] = chatter(State(found, request, *columns)).share
    return CutUses(
        tool,
        found,
        rows,
        depth,
        width,
        facts.rpm[rows],
        facts.chip_mm[rows],
        {key: value[back] for key, value in uses.items()},
        {key: value[back] for key, value in first.items()},
        hint[back],
    )


def distinct_cuts(*columns: NDArray[np.generic]) -> tuple[Floats, NDArray[np.intp]]:
    """Different rows of some columns, rounded up a little where there are too many.

    columns: Numbers of every cut. (each shape (n,))
    Returns: The different rows (shape (m, columns)), and which of them each cut is (shape (n,)).
    """
    table = np.column_stack([np.asarray(c, np.float64) for c in columns])
    for digits in (4, 3, 2):
        scale = 10.0**digits
        magnitude = np.maximum(np.abs(table).max(axis=0), 1e-12)
        rounded = np.ceil(table / magnitude * scale - 1e-6)
        first, back = distinct_rows(rounded)
        if len(first) <= MOST_CASES:
            break
    cases = table[first]
    if digits < 4:
        cases[:, :4] = rounded[first, :4] / scale * magnitude[:4]
    return cases, back
