"""The stock: is the cut inside it, does it cut at all, and what is left standing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, Severity
from millcalc.job.setup import Box, Setup
from millcalc.preflight.context import Context
from millcalc.preflight.geometry import places_mm
from millcalc.preflight.registry import rule
from millcalc.preflight.rules.bed import z_doubt_mm
from millcalc.preflight.tabs import find_tabs
from millcalc.stock.left import ThinWeb
from millcalc.stock.result import Removal
from millcalc.tables import list_names
from millcalc.tables.models import Material

SAMPLES = (np.arange(16) + 0.5) / 16  # places along a motion that leaves the stock
CHUNK = 50_000  # motions looked at a time


@rule("STOCK-01", Severity.WARNING, "cuts beside the stock", needs=("stock", "cutters", "motions"),
      what="cuts against the stock's outline")  # fmt: skip
def _beside(ctx: Context, stock: Box) -> Iterator[Finding]:
    """The cutter is sent down beside the stock.

    Flags: feed motions below the stock's top whose cutter is clear of the stock by more than 2 mm, over more
      than a tenth of the length at depth; says how far the path reaches past each side.
    Why: the zero is on another corner, or the stock is smaller than drawn; clamps and screws stand there.
    Wrong: an outline 120 mm wide on a plate of 100 mm.
    Right: a part inside its stock.
    Limits of the rule: short ways in and out beside the edge are allowed for.
    Source: plane geometry.
    """
    facts = ctx.facts
    deep = facts.feed & (facts.z_low < stock.z_max - 1e-3) & np.isfinite(facts.motions.length_mm)
    gap = np.full(facts.n, -np.inf)
    share = np.zeros(facts.n)
    low, high = facts.bounds
    radius = np.nan_to_num(facts.diameter_mm / 2)
    out = (
        (low[:, 0] < stock.x_min) | (high[:, 0] > stock.x_max)
        | (low[:, 1] < stock.y_min) | (high[:, 1] > stock.y_max)
    )  # fmt: skip
    leaving = np.flatnonzero(deep & out)
    for first in range(0, len(leaving), CHUNK):
        rows = leaving[first : first + CHUNK]
        x, y = np.moveaxis(places_mm(facts.motions, rows, SAMPLES)[:, :, :2], 2, 0)
        far = np.maximum(
            np.maximum(stock.x_min - x, x - stock.x_max), np.maximum(stock.y_min - y, y - stock.y_max)
        )
        far -= radius[rows][:, None]
        gap[rows] = np.max(far, axis=1)
        share[rows] = np.mean(far > 2.0, axis=1)
    off = deep & (gap > 2.0)
    length = np.nan_to_num(facts.motions.length_mm)
    total = float(length[deep].sum())
    beside = float((length * share).sum())
    rows = np.flatnonzero(off)
    if not len(rows) or not beside > 0.1 * total:
        return
    past = {
        "left": stock.x_min - float(np.nanmin(low[rows, 0])),
        "right": float(np.nanmax(high[rows, 0])) - stock.x_max,
        "front": stock.y_min - float(np.nanmin(low[rows, 1])),
        "back": float(np.nanmax(high[rows, 1])) - stock.y_max,
    }
    sides = ", ".join(f"{ctx.say.mm(v, 0.1)} past the {k}" for k, v in past.items() if v > 0)
    worst = int(rows[np.argmax(gap[rows])])
    yield ctx.say.finding(
        "STOCK-01",
        Severity.WARNING,
        f"{100 * beside / total:.0f} % of the length at depth lies beside the stock: {sides}",
        rows=rows,
        worst=worst,
        compared=(gap[worst], 2.0, "mm"),
        action="check where zero lies on the stock, and the stock's size",
    )


@rule(
    "STOCK-02", Severity.WARNING, "nothing is cut", needs=("stock", "motions"), what="whether anything is cut"
)
def _nothing(ctx: Context, top_mm: float) -> Iterator[Finding]:
    """The program moves at feed, but never inside the stock.

    Flags: feed motions, none of which cuts.
    Why: the zero is wrong by at least the distance between path and stock, and may be wrong the other way
      next time.
    Wrong: Z zero on the bed in the program, on the stock's top in the job.
    Right: the same zero in both.
    Limits of the rule: an air cut that was meant as one is flagged too.
    Source: plane geometry.
    """
    facts = ctx.facts
    rows = np.flatnonzero(facts.feed & np.isfinite(facts.z_low))
    if len(rows) and not facts.cutting.any():
        lowest = float(np.min(facts.z_low[rows]))
        yield ctx.say.finding(
            "STOCK-02",
            Severity.WARNING,
            "the program never touches the stock"
            + (
                f": its lowest height is {ctx.say.mm(lowest - top_mm)} above the stock's top"
                if lowest >= top_mm
                else ""
            ),
            rows=rows,
            worst=int(rows[np.argmin(facts.z_low[rows])]),
            action="check the zero in X, Y and Z",
        )


@rule("STOCK-03", Severity.WARNING, "shallower than the stock is even", needs=("stock_top", "motions"),
      what="shallow features against the stock's evenness")  # fmt: skip
def _shallow(ctx: Context, top_mm: float) -> Iterator[Finding]:
    """An engraving shallower than the doubt about the surface.

    Flags: tools whose deepest cut below the stock's top is less than thickness spread and bed flatness
      together.
    Why: the line fades where the plate is low and is twice as deep where it is high.
    Wrong: 0.15 mm engraving on a plate bowed by 0.3 mm.
    Right: a faced surface, a deeper engraving, or a plate held flat.
    Limits of the rule: only where spread or flatness were measured.
    Source: plane geometry.
    """
    facts = ctx.facts
    doubt = z_doubt_mm(ctx)
    for tool, rows in facts.split(facts.cutting):
        deep = top_mm - float(np.min(facts.z_low[rows]))
        if 0 < deep < doubt:
            yield ctx.say.finding(
                "STOCK-03",
                Severity.WARNING,
                f"T{tool} cuts only {ctx.say.mm(deep)} deep; the surface is known to {ctx.say.mm(doubt)}",
                rows=rows,
                word="Z",
                compared=(deep, doubt, "mm"),
                action=f"face the plate first, or cut {ctx.edit.mm(2 * doubt)} deep",
            )


@rule("STOCK-04", Severity.WARNING, "thin wall left standing", needs=("removal", "motions"),
      what="thin walls and webs")  # fmt: skip
def _thin_wall(ctx: Context, removal: Removal) -> Iterator[Finding]:
    """A wall too thin for its height is left between two cuts.

    Flags: walls of the finished part thinner than 1 mm or a quarter of their height.
    Why: the wall bends away from the cutter, screams, and tears.
    Wrong: two 6 mm deep pockets 0.8 mm apart.
    Right: 1.5 mm between them, or small depths on both sides in turn.
    Limits of the rule: as fine as the cells of the simulated cut; judged at the end of the program only.
    Source: common practice, no source.
    """
    walls = [web for web in removal.webs if web.kind == "wall" and web.width_mm < _least_wall_mm(web)]
    if walls:
        worst = min(walls, key=lambda web: web.width_mm)
        limit = _least_wall_mm(worst)
        yield Finding(
            "STOCK-04",
            Severity.WARNING,
            f"a wall {ctx.say.mm(worst.width_mm)} thin and {ctx.say.mm(worst.thickness_mm)} high is left at "
            f"{ctx.say.point(worst.place_mm)}",
            "leave more between the two cuts, or cut both sides in small depths in turn",
            place_mm=worst.place_mm,
            measured=worst.width_mm,
            limit=limit,
            unit="mm",
            count=len(walls),
        )


def _least_wall_mm(wall: ThinWeb) -> float:
    return max(1.0, wall.thickness_mm / 4)


@rule("STOCK-05", Severity.NOTE, "skin left under the cut", needs=("removal", "motions"), what="thin floors")
def _skin(ctx: Context, removal: Removal) -> Iterator[Finding]:
    """A floor so thin that it tears or drums.

    Flags: floors of the finished part thinner than 0.5 mm.
    Why: a skin tears out under the cutter and wraps round it.
    Wrong: a pocket 5.8 mm deep in a 6 mm plate.
    Right: through, or a floor of 1 mm.
    Limits of the rule: a floor that was meant so thin is flagged too.
    Source: common practice, no source.
    """
    skins = [web for web in removal.webs if web.kind == "skin" and not _slope_of_tab(ctx, web.place_mm)]
    if skins:
        worst = min(skins, key=lambda web: web.thickness_mm)
        yield Finding(
            "STOCK-05",
            Severity.NOTE,
            f"a floor of {ctx.say.mm(worst.thickness_mm)} is left at {ctx.say.point(worst.place_mm)}, "
            f"{worst.area_mm2:.0f} mm2 large",
            "cut through, or leave at least 1 mm",
            place_mm=worst.place_mm,
            measured=worst.thickness_mm,
            limit=0.5,
            unit="mm",
            count=len(skins),
        )


def _slope_of_tab(ctx: Context, place: tuple[float, float, float]) -> bool:
    """Whether a place lies on the slope of a tab, which runs out to nothing by intention."""
    motions = ctx.program.motions
    for tab in find_tabs(ctx):
        for row in (tab.up, tab.side, tab.down):
            start, end = motions.start_mm[row, :2], motions.end_mm[row, :2]
            along = end - start
            size = float(along @ along)
            t = float(np.clip((np.asarray(place[:2]) - start) @ along / size, 0, 1)) if size > 0 else 0.0
            reach = float(np.nan_to_num(ctx.facts.diameter_mm[row])) / 2
            if float(np.hypot(*(start + t * along - place[:2]))) < reach:
                return True
    return False


@rule("STOCK-06", Severity.NOTE, "much taken off one side", needs=("removal", "material", "motions"),
      what="bending by freed stress")  # fmt: skip
def _one_sided(ctx: Context, material: Material, removal: Removal) -> Iterator[Finding]:
    """More than half of the thickness is taken off over more than half of the plate.

    Flags: rolled metal plates where over half of the area ends up at less than half of the thickness (through
      cuts not counted).
    Why: the stress of rolling is freed on one side: the plate bows and lifts off the bed.
    Wrong: one large pocket 4 mm deep in a 6 mm rolled plate.
    Right: cast tooling plate, both sides in turn, or a rest between roughing and finishing.
    Limits of the rule: how much stress is in the plate is not known.
    Source: common practice, no source.
    """
    if not material.is_metal:
        return
    final = removal.final
    height = final.height_mm
    middle = (final.top_mm + final.floor_mm) / 2
    share = float(((height < middle) & (height > final.floor_mm + 0.05)).mean())
    if share > 0.5:
        yield Finding(
            "STOCK-06",
            Severity.NOTE,
            f"{100 * share:.0f} % of the cut region ends at less than half of the thickness",
            "expect it to bow; finish in a last light pass after loosening and tightening the hold-down",
            measured=share,
            limit=0.5,
            unit="of the area",
        )


@rule(
    "STOCK-07",
    Severity.NOTE,
    "one word for several sorts",
    needs=("job", "material"),
    what="which sort of material is meant",
)
def _sorts(ctx: Context, setup: Setup, material: Material) -> Iterator[Finding]:
    """The job names the material by a word that several sorts share.

    Flags: a material named by a word such as ``brass`` or ``acrylic`` that begins the name of more than one sort.
    Why: the sorts cut differently: one melts or drags where the other breaks into chips.
    Wrong: ``material: acrylic`` for an extruded sheet: the cast sort is taken.
    Right: ``material: acrylic-extruded``.
    Limits of the rule: sorts are told by their names in the tables; a wrong sort is not noticed.
    Source: the material tables.
    """
    word = (setup.job.material or "").strip().lower().replace(" ", "-")
    sorts = [name for name in list_names("materials") if name.startswith(f"{word}-")]
    if word == material.name or len(sorts) < 2:
        return
    others = [name for name in sorts if name != material.name]
    yield Finding(
        "STOCK-07",
        Severity.NOTE,
        f"{word} is taken as {material.title} ({material.name}); {' and '.join(others)} cut differently",
        f"write the sort in the job: material: {material.name}, or {' or '.join(others)}",
    )
