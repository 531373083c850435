"""The form of a cut: what cuts what, and which numbers the person gives; shared by settings and help at the machine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from millcalc import units as units_read
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutKind, CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.page.choices import chosen
from millcalc.page.forms import read, text
from millcalc.units_show import System

NAMES = ("machine", "material", "cutter")
FIELDS = (
    *NAMES,
    *("cut", "ap", "ae", "feed", "rpm", "stickout", "drop", "bore", "segment", "thickness"),
    *("finish", "proven", "alone"),
)
CUT_KINDS: tuple[str, ...] = get_args(CutKind)


@dataclass(frozen=True)
class Asked:
    """A cut that was asked about.

    tooling, request: For the limits.
    thickness_mm: Thickness to cut through [mm].
    left_out: Why the log was not used; empty where it was.
    """

    tooling: Tooling
    request: CutRequest
    thickness_mm: float | None
    left_out: str = ""


def fields_of(form: Mapping[str, object]) -> dict[str, str]:
    """The known fields of a form that are filled in.

    form: Any mapping of names to texts.
    Returns: Texts.
    """
    return {name: value for name in FIELDS if (value := text(form, name))}


def missing(fields: Mapping[str, str]) -> list[str]:
    """Which of machine, material and cutter are still to be chosen."""
    return [name for name in NAMES if not fields.get(name)]


def asked(fields: Mapping[str, str], units: System) -> Asked:
    """Read the form of a cut.

    fields: Texts by name.
    units: Unit of bare numbers.
    Returns: Ready for the limits, with what the log has taught.
    Raises InputError: If something is missing, unknown or impossible.
    """
    from millcalc.cutlog.taught import refuse_untrusted, taught

    lacking = missing(fields)
    if lacking:
        raise InputError("no " + ", no ".join(lacking), "one of the list", "choose it first")
    tooling = make_tooling(
        *chosen(fields["machine"], fields["material"], fields["cutter"]),
        stickout_mm=read(fields, "stickout", "stickout", units_read.length_mm, units),
        drop_mm=read(fields, "drop", "drop", units_read.length_mm, units),
    )
    left_out = ""
    if not fields.get("alone"):
        tooling, left_out = taught(tooling, Path.cwd(), cut=fields.get("cut") or "slot")
        refuse_untrusted(tooling)
    thickness = read(fields, "thickness", "thickness", units_read.length_mm, units)
    return Asked(tooling, _request(fields, units), thickness, left_out)


def _request(fields: Mapping[str, str], units: System) -> CutRequest:
    cut = fields.get("cut", "slot")
    if cut not in CUT_KINDS:
        raise InputError(repr(cut), ", ".join(CUT_KINDS), field="kind of cut")

    def length(name: str, title: str) -> float | None:
        return read(fields, name, title, units_read.length_mm, units)

    return CutRequest(
        cut,  # type: ignore[arg-type]
        axial_depth_mm=length("ap", "depth"),
        radial_width_mm=length("ae", "width"),
        feed_mm_min=read(fields, "feed", "feed", units_read.feed_mm_min, f"{units}/min"),
        speed_rpm=read(fields, "rpm", "speed", units_read.speed_rpm),
        segment_mm=length("segment", "path between corners"),
        bore_mm=length("bore", "bore"),
        finish=bool(fields.get("finish")),
        proven=bool(fields.get("proven")),
    )
