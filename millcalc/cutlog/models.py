"""One entry of the log: a cut, the settings and conditions it was made with, and how it went."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, field_validator, model_validator

Outcome = Literal["good", "acceptable", "failed"]
Origin = Literal["own", "test cut", "somebody"]
Operation = Literal[
    "slot", "side", "face", "pocket", "contour", "plunge", "ramp", "helix", "drill", "engrave"
]
Cooling = Literal["none", "air", "brush", "mist", "flood"]
Direction = Literal["climb", "conventional", "both"]
ChipForm = Literal["curls", "hairs", "powder", "glued", "melted"]
Sound = Literal["hum", "hiss", "tone", "thump", "growl"]
Finish = Literal["good", "lines", "wavy", "torn"]
BitAfter = Literal["clean", "smear", "lump", "worn", "chipped", "broken"]
Symptom = Literal[
    "chatter",
    "squeal",
    "dust-not-chips",
    "welded-chips",
    "melted",
    "burnt",
    "fuzzy-edge",
    "burr",
    "lost-steps",
    "spindle-slowed",
    "cutter-broke",
    "cutter-chipped",
    "cutter-slipped",
    "cutter-worn",
    "work-moved",
    "tapered-wall",
    "wrong-size",
    "poor-wall",
    "poor-floor",
]
SYMPTOMS: tuple[str, ...] = get_args(Symptom)

LimitKind = Literal["deflection", "power", "thrust", "chatter", "chip_high", "chip_low", "hold_down"]
LIMIT_KINDS: tuple[LimitKind, ...] = get_args(LimitKind)
"""Limits that outcomes can move. Cutter strength, speed range and travel are hard and never learned."""


def limit_kind(key: str) -> str | None:
    """Kind of limit by the key an advice or a check gives it; None for one that outcomes never move.

    key: Key of a limit, or its kind itself.
    Returns: What the limit's row says that it learns; hold-down is no limit of the settings.
    """
    # the stage is loaded by what judges cuts, not by a list of entries
    from millcalc.limits.table import LIMITS

    if key in LIMIT_KINDS:
        return key
    if key == "hold-down":
        return "hold_down"
    return next((limit.learns for limit in LIMITS if limit.key == key), None)


_YEARS = (1950, 2200)


def _clean_text(text: str) -> str:
    """Refuse what a database text or a UTF-8 file cannot carry; trim the ends."""
    if "\x00" in text:
        raise ValueError("the text holds a NUL character")
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise ValueError("the text holds a character that cannot be written as UTF-8") from None
    return text.strip()


Name = Annotated[str, Field(max_length=200), AfterValidator(_clean_text)]
Remark = Annotated[str, Field(max_length=20_000), AfterValidator(_clean_text)]
Length = Annotated[float, Field(ge=1e-6, le=1e5)]
Amount = Annotated[float, Field(ge=0, le=1e9)]


class Entry(BaseModel):
    """One cut of the log. Only machine, cutter, material and outcome must be known.

    when: When it was cut; a time without a zone is taken as local time; kept as UTC.
    uid: 32 hexadecimal digits that name the entry in every copy of the log; made when empty.
    origin: ``own``, ``test cut`` or ``somebody`` (another person's recipe: shown, never learned from).
    machine, spindle, cutter, material: Names as in the tables, or free names.
    bit: Which one of several equal cutters, e.g. ``no 2``; wear is counted for each.
    bit_age_min: Minutes this cutter had cut before [min].
    diameter_mm, shank_mm, stickout_mm, drop_mm, stock_thickness_mm: Cutter diameter, shank, stickout, drop
      and stock thickness [mm].
    flutes: Cutting edges [-].
    kc11_n_mm2, mc: Kienzle values the prediction used [N/mm2], [-].
    batch, supplier: Of the material.
    hold_down: How the stock was held.
    speed_rpm, feed_mm_min: As programmed [rev/min], [mm/min].
    override_percent: Feed override at the knob when it ended [%].
    axial_depth_mm, radial_width_mm: ap and ae [mm].
    chip_mm: Largest real chip thickness where a simulation or the mechanics gave it [mm].
    cut_minutes, cut_metres: Time and path in the cut [min], [m].
    program, program_sha256: File name and fingerprint.
    force_n, power_w, deflection_mm: Predicted by the bare physics [N], [W], [mm].
    shares: Predicted share of each limit, by the bare physics without anything learned [-]; 1 is at the
      limit. For ``chip_low`` the share is smallest chip over real chip, so that larger is worse there too.
    outcome: ``good``, ``acceptable`` or ``failed``.
    symptoms: What was seen or heard.
    size_error_mm: Measured size minus drawn size, both walls together halved: the error of one wall [mm].
    photo: Path of a picture.
    """

    model_config = ConfigDict(frozen=True, defer_build=True, extra="forbid", allow_inf_nan=False)

    when: datetime
    uid: Annotated[str, Field(pattern=r"^([0-9a-f]{32})?$")] = ""
    origin: Origin = "own"
    machine: Annotated[Name, Field(min_length=1)]
    spindle: Name = ""
    cutter: Annotated[Name, Field(min_length=1)]
    bit: Name = ""
    bit_age_min: Amount | None = None
    diameter_mm: Length | None = None
    flutes: Annotated[int, Field(ge=1, le=99)] | None = None
    shank_mm: Length | None = None
    stickout_mm: Length | None = None
    drop_mm: Length | None = None
    material: Annotated[Name, Field(min_length=1)]
    kc11_n_mm2: Annotated[float, Field(ge=1e-6, le=1e5)] | None = None
    mc: Annotated[float, Field(ge=0, lt=1)] | None = None
    batch: Name = ""
    supplier: Name = ""
    stock_thickness_mm: Length | None = None
    hold_down: Name = ""
    cooling: Cooling | None = None
    operation: Operation | None = None
    direction: Direction | None = None
    speed_rpm: Annotated[float, Field(ge=1e-3, le=1e6)] | None = None
    feed_mm_min: Annotated[float, Field(ge=1e-3, le=1e6)] | None = None
    override_percent: Annotated[float, Field(ge=1e-3, le=1000)] = 100.0
    axial_depth_mm: Length | None = None
    radial_width_mm: Length | None = None
    chip_mm: Length | None = None
    cut_minutes: Amount | None = None
    cut_metres: Amount | None = None
    program: Name = ""
    program_sha256: Annotated[str, Field(pattern=r"^([0-9a-f]{64})?$")] = ""
    force_n: Amount | None = None
    power_w: Amount | None = None
    deflection_mm: Amount | None = None
    shares: dict[LimitKind, Annotated[float, Field(ge=1e-9, le=1e6)]] = Field(default_factory=dict)
    outcome: Outcome
    symptoms: tuple[Symptom, ...] = ()
    chip_form: ChipForm | None = None
    sound: Sound | None = None
    finish: Finish | None = None
    bit_after: BitAfter | None = None
    size_error_mm: Annotated[float, Field(ge=-1e3, le=1e3)] | None = None
    photo: Annotated[str, Field(max_length=1000), AfterValidator(_clean_text)] = ""
    notes: Remark = ""

    @field_validator("when")
    @classmethod
    def _as_utc(cls, when: datetime) -> datetime:
        low, high = _YEARS
        if not low <= when.year <= high:
            raise ValueError(f"the year must lie between {low} and {high}")
        return when.astimezone(UTC)

    @field_validator("symptoms")
    @classmethod
    def _each_once(cls, symptoms: tuple[Symptom, ...]) -> tuple[Symptom, ...]:
        return tuple(dict.fromkeys(symptoms))

    @model_validator(mode="after")
    def _fits_together(self) -> Entry:
        if (
            self.radial_width_mm is not None
            and self.diameter_mm is not None
            and self.radial_width_mm > self.diameter_mm * (1 + 1e-9)
        ):
            raise ValueError(
                f"radial_width_mm {self.radial_width_mm:g} is larger than the cutter, {self.diameter_mm:g} mm"
            )
        return self

    @property
    def real_feed_mm_min(self) -> float | None:
        """Feed with the override at the knob applied [mm/min]."""
        return None if self.feed_mm_min is None else self.feed_mm_min * self.override_percent / 100.0

    @property
    def feed_per_tooth_mm(self) -> float | None:
        """Chip load fz from real feed, flutes and speed [mm]; None when one of them is unknown."""
        feed = self.real_feed_mm_min
        if feed is None or self.speed_rpm is None or self.flutes is None:
            return None
        return feed / (self.flutes * self.speed_rpm)

    @property
    def largest_chip_mm(self) -> float | None:
        """Largest chip thickness: the stated one, or from fz with thinning where ae < D/2 [mm].

        Source: Altintas, Manufacturing Automation, 2nd ed., 2012, section 2.5: h = fz sin(phi).
        """
        if self.chip_mm is not None:
            return self.chip_mm
        fz, width, diameter = self.feed_per_tooth_mm, self.radial_width_mm, self.diameter_mm
        if fz is None or width is None or diameter is None:
            return fz
        share = width / diameter
        return fz if share >= 0.5 else 2.0 * fz * math.sqrt(share * (1.0 - share))


@dataclass(frozen=True, slots=True)
class Stored:
    """An entry as it stands in the log.

    number: Number in this log file, shown to the person [-].
    entry: The cut.
    removed: Whether it was taken out; it stays in the file and can be brought back.
    """

    number: int
    entry: Entry
    removed: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the history of changes.

    when: When the change was made, UTC; None when that cannot be read.
    who: Name of the account that made it.
    action: ``add``, ``import``, ``edit``, ``remove`` or ``undo``.
    number: Number of the entry [-].
    field: Field that changed; empty for the whole entry.
    before, after: Values as stored.
    """

    when: datetime | None
    who: str
    action: str
    number: int
    field: str
    before: str | None
    after: str | None


def field_names() -> tuple[str, ...]:
    """Names of all fields of an entry, in order.

    Returns: As in :class:`Entry`.
    """
    return tuple(Entry.model_fields)


def plain_errors(error: Any) -> list[tuple[str, str, str]]:
    """Field, what was found and what is accepted, for each problem of a pydantic validation error.

    error: What building an :class:`Entry` raised.
    Returns: Field, found, accepted; one for each problem.
    """
    problems = []
    for item in error.errors(include_url=False):
        name = ".".join(str(part) for part in item["loc"]) or "entry"
        if item["type"] == "missing":
            problems.append((name, "nothing", "a value; it must be known"))
            continue
        if item["type"] == "extra_forbidden":
            problems.append((name, "a field the log does not have", "one of: " + ", ".join(field_names())))
            continue
        accepted = str(item["msg"]).removeprefix("Value error, ").removeprefix("Input should be ")
        value = item["input"]
        found = accepted if isinstance(value, dict) and item["loc"] == () else repr(value)[:80]
        problems.append((name, found, accepted))
    return problems
