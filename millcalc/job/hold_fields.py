"""Which fields tell what about each kind of hold, and values that no such hold can have."""

from __future__ import annotations

from typing import Final

from millcalc.errors import InputError, JobError
from millcalc.job.fields import written_name
from millcalc.job.models import Hold, Job
from millcalc.tables.yaml_lines import Key, Marks, dotted, line_of

ATMOSPHERE_N_MM2: Final = 0.101325  # standard atmosphere: ISO 2533:1975; no vacuum presses harder
STRONGEST_TAPE_N_MM2: Final = 5.0  # beyond any tape that comes off again; estimate, to catch a wrong unit
FIELDS: Final[dict[str, tuple[str, ...]]] = {
    "tape": ("area_mm2", "shear_n_mm2"),
    "vacuum": ("area_mm2", "pressure_n_mm2", "friction"),
    "vice": ("force_n", "friction"),
    "side clamps": ("force_n", "friction"),
    "waste screws": ("count", "shank_diameter_mm", "depth_in_bed_mm"),
    "tabs": ("count", "length_mm", "thickness_mm"),
    "onion skin": ("length_mm", "thickness_mm"),
    "unknown": (),
}
OPTIONAL: Final = ("shear_n_mm2", "friction")  # an estimate stands in for them


def lacking(hold: Hold) -> tuple[str, ...]:
    """Fields without which a hold's strength is unknown.

    hold: The hold.
    Returns: Names of the model's fields that are not given.
    """
    return tuple(name for name in FIELDS[hold.kind] if name not in OPTIONAL and getattr(hold, name) is None)


def impossible(name: str, value: float | None) -> tuple[str, str, str] | None:
    """What is wrong with a number that no hold of its kind has.

    name: Field name of the model; its ending says the unit.
    value: The number, in that unit; None for an unknown one.
    Returns: What was found, what is accepted, and what to do; None when it is possible.

    >>> impossible("shear_n_mm2", 6.0)
    ('a shear strength of 6000 kPa', 'at most 5000 kPa', 'write its unit, such as 100 kPa')
    """
    if value is None:
        return None
    if name == "pressure_n_mm2" and value > ATMOSPHERE_N_MM2:
        most = "at most 101 kPa, the pressure of the air"
        return f"a vacuum of {1000 * value:g} kPa", most, "write its unit, such as 70 kPa"
    if name == "shear_n_mm2" and value > STRONGEST_TAPE_N_MM2:
        most = f"at most {1000 * STRONGEST_TAPE_N_MM2:g} kPa"
        return f"a shear strength of {1000 * value:g} kPa", most, "write its unit, such as 100 kPa"
    return None


def hold_doubts(job: Job, marks: Marks, file: str) -> list[InputError]:
    """Fields that tell nothing about their kind, and values beyond what is possible.

    job: The job.
    marks: Lines of the fields.
    file: Name of the file.
    Returns: Errors.
    """
    errors: list[InputError] = []

    def fail(key: Key, found: str, accepted: str, action: str = "") -> None:
        errors.append(
            JobError(found, accepted, action, file=file, line=line_of(key, marks), field=dotted(key))
        )

    for index, hold in enumerate(job.hold or ()):
        known = FIELDS[hold.kind]
        for name in Hold.model_fields:
            if name not in ("kind", "source", *known) and getattr(hold, name) is not None:
                words = ", ".join(written_name(one) for one in known) or "no number"
                fail(("hold", index, name), f"{written_name(name)} of {hold.kind}", words, "remove it")
        for name in known:
            doubt = impossible(name, getattr(hold, name))
            if doubt is not None:
                fail(("hold", index, name), *doubt)
    return errors
