"""Between a job file and its form: texts for every field of the form, and back to a job.

Places of screws and clamps stand in the form as they lie on the plate, from its front left corner; the job file has
them from program zero.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from millcalc import units as units_read
from millcalc.errors import InputError, ManyErrors
from millcalc.job.ask_hold import read_hold
from millcalc.job.build import stock_plan_mm
from millcalc.job.hold_fields import FIELDS
from millcalc.job.models import Clamp, Hold, Job, JobCutter, Screw
from millcalc.page.forms import read, text
from millcalc.units_show import System

PLAIN = (
    *("title", "machine", "material", "grade_known", "cooling"),
    *("size_x", "size_y", "thickness", "zero_xy", "zero_z", "offset_x", "offset_y"),
    *(
        "spoilboard",
        "below",
        "drop",
        "set_by",
        "dial_mark",
        "hold",
        "no_screws",
        "no_clamps",
        "proven",
        "notes",
    ),
)
SCREW = ("x", "y", "size", "head", "height", "depth", "placed", "name")
CLAMP = ("x", "y", "width", "length", "height", "placed", "name")
TOOL = ("number", "cutter", "stickout")
MOST_ROWS = 60


@dataclass
class JobFields:
    """Texts of the form: plain fields by name, and rows of screws, clamps and tools."""

    plain: dict[str, str] = field(default_factory=dict)
    screws: list[dict[str, str]] = field(default_factory=list)
    clamps: list[dict[str, str]] = field(default_factory=list)
    tools: list[dict[str, str]] = field(default_factory=list)

    def __getitem__(self, name: str) -> str:
        return self.plain.get(name, "")


def fields_of_form(form: Any) -> JobFields:
    """The texts of a form that was sent.

    form: Names to texts; rows are ``screw-3-x`` and so on.
    Returns: Known fields only.
    """
    found = JobFields({name: text(form, name) for name in PLAIN})
    for kind, into, names in (
        ("screw", found.screws, SCREW),
        ("clamp", found.clamps, CLAMP),
        ("tool", found.tools, TOOL),
    ):
        for index in range(MOST_ROWS):
            row = {name: text(form, f"{kind}-{index}-{name}") for name in names}
            if any(row.get(name) for name in ("x", "y", "number", "cutter")):
                into.append(row)
    for hold, parts in FIELDS.items():
        for part in parts:
            key = f"hold-{hold}-{part}"
            found.plain[key] = text(form, key)
    return found


def _shown(value_mm: float | None, units: System) -> str:
    """A length as the form shows it: a bare number in the units shown."""
    if value_mm is None:
        return ""
    value = value_mm / 25.4 if units == "in" else value_mm
    return f"{round(value, 4 if units == 'in' else 3):g}"


def fields_of_job(job: Job, tools: list[int], units: System) -> JobFields:
    """The texts a form begins with.

    job: The job as it stands.
    tools: Tool numbers the program uses.
    units: Units shown.
    Returns: Texts.
    """
    plan = stock_plan_mm(job)
    left, front = (plan[0], plan[2]) if plan else (0.0, 0.0)
    stock, zero, bed = job.stock, job.zero, job.bed

    def mm(value: float | None) -> str:
        return _shown(value, units)

    found = JobFields(
        {
            "title": job.title,
            "machine": job.machine or "",
            "material": job.material or "",
            "grade_known": {True: "yes", False: "no", None: ""}[job.grade_known],
            "cooling": job.cooling or "",
            "size_x": mm(stock.size_x_mm),
            "size_y": mm(stock.size_y_mm),
            "thickness": mm(stock.thickness_mm),
            "zero_xy": zero.xy or "",
            "zero_z": zero.z or "",
            "offset_x": mm(zero.offset_x_mm) if zero.offset_x_mm else "",
            "offset_y": mm(zero.offset_y_mm) if zero.offset_y_mm else "",
            "spoilboard": mm(bed.spoilboard_mm),
            "below": bed.below or "",
            "drop": mm(bed.drop_mm),
            "set_by": job.spindle.set_by or "",
            "dial_mark": job.spindle.dial_mark or "",
            "no_screws": "1" if job.screws == () else "",
            "no_clamps": "1" if job.clamps == () else "",
            "proven": "1" if job.proven else "",
            "notes": job.notes,
            **_hold_fields(job, units),
        }
    )
    _add_pieces(found, job, left, front, mm)
    for number in sorted({*job.cutters, *tools}) or [1]:
        entry = job.cutters.get(number)
        cutter, out = (entry.cutter, mm(entry.stickout_mm)) if entry else ("", "")
        found.tools.append({"number": str(number), "cutter": cutter, "stickout": out})
    return found


def _add_pieces(
    found: JobFields, job: Job, left: float, front: float, mm: Callable[[float | None], str]
) -> None:
    """The rows of screws and clamps, from the plate's front left corner."""
    for screw in job.screws or ():
        found.screws.append(
            {
                "x": mm(screw.x_mm - left), "y": mm(screw.y_mm - front), "size": screw.size or "",
                "head": mm(screw.head_diameter_mm), "height": mm(screw.head_height_mm),
                "depth": mm(screw.depth_in_bed_mm), "placed": screw.placed, "name": screw.name,
            }
        )  # fmt: skip
    for clamp in job.clamps or ():
        found.clamps.append(
            {
                "x": mm(clamp.x_min_mm - left), "y": mm(clamp.y_min_mm - front),
                "width": mm(clamp.x_max_mm - clamp.x_min_mm), "length": mm(clamp.y_max_mm - clamp.y_min_mm),
                "height": mm(clamp.height_mm), "placed": clamp.placed, "name": clamp.name,
            }
        )  # fmt: skip


def _hold_fields(job: Job, units: System) -> dict[str, str]:
    if job.hold is None:
        return {"hold": ""}
    if not job.hold:
        return {"hold": "none"}
    first = job.hold[0]
    found: dict[str, str] = {"hold": first.kind}
    for name in FIELDS[first.kind]:
        value = getattr(first, name)
        found[f"hold-{first.kind}-{name}"] = "" if value is None else _hold_text(name, value, units)
    return found


def _hold_text(name: str, value: float, units: System) -> str:
    if name.endswith("_n_mm2"):
        return f"{1000 * value:g} kPa"
    if name.endswith("_mm2"):
        return f"{value / 100:g} cm2"
    if name.endswith("_mm"):
        return f"{_shown(value, units)} {units}"
    return f"{value:g} N" if name.endswith("_n") else f"{value:g}"


def job_of_fields(fields: JobFields, base: Job, units: System, program: str) -> Job:
    """A job from the texts of its form; what the form does not show stays as it was.

    fields: Texts.
    base: The job the form began with.
    units: Unit of bare numbers.
    program: Name of the program file.
    Returns: The job.
    Raises InputError: For the first text that cannot be read; ManyErrors for several.
    """
    errors: list[InputError] = []

    def length(row: Mapping[str, str], name: str, title: str, *, negative: bool = False) -> float | None:
        try:
            reader = _signed if negative else units_read.length_mm
            return read(row, name, title, reader, units)
        except InputError as error:
            errors.append(error)
            return None

    plain = fields.plain
    stock = base.stock.model_copy(
        update={f"{n}_mm": length(plain, n, t) for n, t in
                (("size_x", "width of the plate"), ("size_y", "length of the plate"), ("thickness", "thickness"))}
    )  # fmt: skip
    zero = base.zero.model_copy(
        update={
            "xy": plain["zero_xy"] or None,
            "z": plain["zero_z"] or None,
            "offset_x_mm": length(plain, "offset_x", "zero to the right", negative=True) or 0.0,
            "offset_y_mm": length(plain, "offset_y", "zero to the back", negative=True) or 0.0,
        }
    )
    bed = base.bed.model_copy(
        update={
            "spoilboard_mm": length(plain, "spoilboard", "board under the plate"),
            "below": plain["below"] or None,
            "drop_mm": length(plain, "drop", "drop"),
        }
    )
    spindle = base.spindle.model_copy(
        update={"set_by": plain["set_by"] or None, "dial_mark": plain["dial_mark"] or None}
    )
    shape = base.model_copy(update={"stock": stock, "zero": zero})
    plan = stock_plan_mm(shape)
    made = shape.model_copy(
        update={
            "title": plain["title"], "machine": plain["machine"] or None, "material": plain["material"] or None,
            "grade_known": {"yes": True, "no": False}.get(plain["grade_known"]),
            "cooling": plain["cooling"] or None, "program": program or None, "bed": bed, "spindle": spindle,
            "units": units, "proven": bool(plain["proven"]), "notes": plain["notes"],
            "screws": _screws(fields, base, plan, length, errors),
            "clamps": _clamps(fields, base, plan, length, errors),
            "hold": _hold(plain, base, units, errors),
            "cutters": _tools(fields, base, length, errors),
        }
    )  # fmt: skip
    if errors:
        raise errors[0] if len(errors) == 1 else ManyErrors(errors)
    return made


def _signed(value: object, default: str) -> float:
    return units_read.length_mm(value, default, negative=True)


def _unplaced(what: str) -> InputError:
    return InputError(
        f"{what} on a plate of unknown size or zero", "width, length and zero of the plate", "fill them in first",
        field=what,
    )  # fmt: skip


def _screws(fields: JobFields, base: Job, plan: Any, length: Any, errors: list[InputError]) -> Any:
    """Screws of the form from program zero; None where nothing is said, an empty tuple where there are none."""
    if not fields.screws:
        return () if fields["no_screws"] else None
    if plan is None:
        errors.append(_unplaced("screws"))
        return None
    made = []
    for number, row in enumerate(fields.screws, 1):
        title = f"screw {number}"
        x, y = (length(row, n, f"{title}, {n.upper()}", negative=True) for n in ("x", "y"))
        old = base.screws[number - 1] if base.screws and number <= len(base.screws) else Screw(x_mm=0, y_mm=0)
        if x is None or y is None:
            errors.append(InputError("a place that is missing", "X and Y", field=title))
            continue
        made.append(
            old.model_copy(
                update={
                    "x_mm": round(x + plan[0], 6), "y_mm": round(y + plan[2], 6), "size": row["size"] or None,
                    "head_diameter_mm": length(row, "head", f"{title}, head"),
                    "head_height_mm": length(row, "height", f"{title}, height"),
                    "depth_in_bed_mm": length(row, "depth", f"{title}, thread in the board"),
                    "placed": row["placed"] if row["placed"] in ("measured", "guessed") else "guessed",
                    "name": row["name"],
                }
            )
        )  # fmt: skip
    return tuple(made)


def _clamps(fields: JobFields, base: Job, plan: Any, length: Any, errors: list[InputError]) -> Any:
    if not fields.clamps:
        return () if fields["no_clamps"] else None
    if plan is None:
        errors.append(_unplaced("clamps"))
        return None
    made = []
    for number, row in enumerate(fields.clamps, 1):
        title = f"clamp {number}"
        x, y = (length(row, n, f"{title}, {n.upper()}", negative=True) for n in ("x", "y"))
        wide, long = (length(row, n, f"{title}, {n}") for n in ("width", "length"))
        if x is None or y is None or not wide or not long:
            errors.append(
                InputError("a place or size that is missing", "X, Y, width and length", field=title)
            )
            continue
        low_x, low_y = x + plan[0], y + plan[2]
        made.append(
            Clamp(
                x_min_mm=round(low_x, 6), x_max_mm=round(low_x + wide, 6), y_min_mm=round(low_y, 6),
                y_max_mm=round(low_y + long, 6), height_mm=length(row, "height", f"{title}, height"),
                placed="guessed" if row["placed"] == "guessed" else "measured", name=row["name"],
            )
        )  # fmt: skip
    return tuple(made)


def _hold(plain: Mapping[str, str], base: Job, units: System, errors: list[InputError]) -> Any:
    """What else holds the work; a second hold that the form does not show stays."""
    kind = plain["hold"]
    if not kind or kind == "none":
        return None if not kind else ()
    if kind not in FIELDS:
        errors.append(InputError(repr(kind), ", ".join(FIELDS), field="hold"))
        return None
    if kind == "unknown":
        return (Hold(kind="unknown"),)
    words = [plain.get(f"hold-{kind}-{name}", "") or "?" for name in FIELDS[kind]]
    try:
        first = read_hold(", ".join([kind, *words]), units)
    except ValueError as problem:
        errors.append(InputError(str(problem), field=kind))
        return None
    return (first, *(base.hold or ())[1:])


def _tools(fields: JobFields, base: Job, length: Any, errors: list[InputError]) -> dict[int, JobCutter]:
    made: dict[int, JobCutter] = {}
    for row in fields.tools:
        if not row["cutter"]:
            continue
        if not row["number"].isdecimal() or len(row["number"]) > 6:
            errors.append(InputError(repr(row["number"]), "a whole number such as 1", field="tool number"))
            continue
        number = int(row["number"])
        out = length(row, "stickout", f"stickout of T{number}")
        old = base.cutters.get(number)
        same = old if old is not None and old.cutter == row["cutter"] else JobCutter(cutter=row["cutter"])
        made[number] = same.model_copy(update={"stickout_mm": out})
    return made
