"""Settings over several materials a piece may be: the range, and what holds in every one of them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from millcalc.advise.advice import advise
from millcalc.advise.asked import check_request
from millcalc.advise.result import Advice
from millcalc.advise.solve import Point, find, shares
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.table import keys_holding
from millcalc.limits.tooling import Tooling
from millcalc.mechanics.kinematics import feed_mm_min
from millcalc.tables import load_material, summaries
from millcalc.units_show import System

_SAME = 1e-6


@dataclass(frozen=True)
class BandRow:
    """What is advised in one of the materials.

    material, title: Name in the tables, and as shown.
    point: The settings; None where this cutter is not for the material.
    fits: Whether they hold every limit.
    feed_mm_min: Feed of these settings; 0 where there are none [mm/min].
    governing: Limit that holds the depth back, or why there are no settings.
    """

    material: str
    title: str
    point: Point | None
    fits: bool
    feed_mm_min: float
    governing: str


@dataclass(frozen=True)
class SettingsBand:
    """Settings over several materials.

    rows: One for each material, shallowest first.
    common: Settings that hold every limit in every material, told for the material that holds them back;
      None where there are none.
    governing: Material that holds the common settings back.
    """

    rows: tuple[BandRow, ...]
    common: Advice | None
    governing: str

    @property
    def fitting(self) -> tuple[Point, ...]:
        """Settings in the materials in which a cut holds."""
        return tuple(row.point for row in self.rows if row.point is not None and row.fits)

    @property
    def depths_mm(self) -> tuple[float, float] | None:
        """Lowest and highest depth advised [mm]; None where nothing fits."""
        found = [point.depth_mm for point in self.fitting]
        return (min(found), max(found)) if found else None


def known_alloys(family: str) -> tuple[str, ...]:
    """Materials of a family in the tables whose grade is known.

    family: As in the tables, such as ``aluminium``.
    Returns: Names.
    """
    listed, _ = summaries("materials")
    rows = [load_material(one.name) for one in listed if one.group == family]
    return tuple(row.name for row in rows if row.grade_known)


def settings_band(
    tooling: Tooling, request: CutRequest, materials: tuple[str, ...], units: System = "mm"
) -> SettingsBand:
    """Advise in each material, and look for the settings that remove most while they hold in all.

    tooling: Machine, cutter, stickout and drop; its material is replaced.
    request: The cut.
    materials: Names in the tables, at least one.
    units: Units to round in.
    Returns: The range and the common settings.
    Raises InputError: If no material is named, or a given number is impossible.

    Note: Tried as common: every speed and feed that is advised in one of the materials, the lowest feed
      with the lowest speed too; for each, the depth (and for side cuts the width) is the smallest that any
      of the materials allows, and the whole is then judged in every one. The result is what was judged, not
      what was inferred.
    """
    if not materials:
        raise InputError("no material", "at least one name of the tables", field="material")
    each: list[tuple[str, Tooling]] = []
    rows: list[BandRow] = []
    for name in materials:
        material = load_material(name)
        try:
            one = _with_material(tooling, name)
        except InputError as error:
            if error.field != "cutter":
                raise
            rows.append(BandRow(name, material.title, None, False, 0.0, f"needs {error.accepted}"))
            continue
        check_request(one, request)
        point, fits = find(one, request, units)
        limits = shares(one, request, point)
        holds = (
            limits[0] if not fits else next(limit for limit in limits if limit.key in keys_holding("depth"))
        )
        feed = round(feed_mm_min(point.feed_per_tooth_mm, one.cutter.flutes, point.speed_rpm), 6)
        rows.append(BandRow(name, material.title, point, fits, feed, holds.title))
        each.append((name, one))
    rows.sort(key=lambda row: row.point.depth_mm if row.point is not None and row.fits else -1.0)
    common, governing = _common(each, request, rows, units) if all(row.fits for row in rows) else (None, "")
    return SettingsBand(tuple(rows), common, governing)


def _with_material(tooling: Tooling, name: str) -> Tooling:
    """The same cutter in the same machine in another material; refused where the cutter is not for it."""
    return make_tooling(
        tooling.machine,
        load_material(name),
        tooling.cutter,
        stickout_mm=tooling.stickout_mm,
        drop_mm=tooling.drop_mm,
        roughing_mm=tooling.roughing_mm,
        finishing_mm=tooling.finishing_mm,
        margins=tooling.margins,
        speed_set_by=tooling.speed_set_by,
    )


def _common(
    each: list[tuple[str, Tooling]], request: CutRequest, rows: list[BandRow], units: System
) -> tuple[Advice | None, str]:
    """The best settings that hold in all, and the material that holds them back."""
    advised = [row.point for row in rows if row.point is not None]
    pairs = {(row.point.speed_rpm, row.feed_mm_min) for row in rows if row.point is not None}
    pairs.add((min(speed for speed, _ in pairs), min(feed for _, feed in pairs)))
    best: tuple[float, CutRequest, str] | None = None
    for speed, feed in sorted(pairs):
        asked = replace(request, speed_rpm=speed, feed_mm_min=feed)
        if request.cut not in FULL_WIDTH and request.radial_width_mm is None:
            asked = replace(asked, radial_width_mm=min(one.width_mm for one in advised))
        found = [(name, *find(one, asked, units)) for name, one in each]
        if not all(fits for _, _, fits in found):
            continue
        governing, shallowest, _ = min(found, key=lambda item: item[1].depth_mm)
        trial = replace(asked, axial_depth_mm=shallowest.depth_mm)
        removal = shallowest.depth_mm * shallowest.width_mm * feed
        if best is not None and removal <= best[0] * (1 + _SAME):
            continue
        if all(find(one, trial, units)[1] for _, one in each):
            best = (removal, trial, governing)
    if best is None:
        return None, ""
    tooling = next(one for name, one in each if name == best[2])
    return advise(tooling, best[1], units=units, buys=False), best[2]


def band_of(advice: Advice, units: System = "mm") -> SettingsBand | None:
    """For an unknown alloy: the settings over all it may be.

    advice: What was advised for the unknown alloy itself.
    units: ``mm`` or ``in``.
    Returns: None where the grade is known, or the cut goes straight down.
    """
    tooling = advice.tooling
    if tooling.material.grade_known or advice.request.cut in ("drill", "plunge"):
        return None
    alloys = known_alloys(tooling.material.family)
    return settings_band(tooling, advice.request, alloys, units) if alloys else None
