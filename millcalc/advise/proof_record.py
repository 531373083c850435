"""The file beside a proof strip that keeps what each step was, so that a result can be turned into settings."""

from __future__ import annotations

import hashlib
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from typing import Any, Final, Literal

from pydantic import Field, ValidationError, model_validator

from millcalc.advise.proof_program import Ladder
from millcalc.errors import InputError
from millcalc.files import refuse_odd
from millcalc.tables.values import Row

SCHEMA: Final = "millcalc-proof/1"
_MOST_BYTES: Final = 5_000_000  # a record larger than this is not ours [byte]


class KeptSettings(Row):
    """Settings of a step: speed [rev/min], feed [mm/min], chip load, depth and width [mm], and the ways in."""

    speed_rpm: float = Field(gt=0)
    dial_mark: str | None = None
    feed_mm_min: float = Field(gt=0)
    feed_per_tooth_mm: float = Field(gt=0)
    axial_depth_mm: float = Field(gt=0)
    radial_width_mm: float = Field(gt=0)
    plunge_feed_mm_min: float = Field(ge=0)
    plunge_allowed: bool
    ramp_angle_deg: float = Field(gt=0, lt=90)
    ramp_feed_mm_min: float = Field(gt=0)


class KeptLimit(Row):
    """One limit and the share of it that a step uses, by the bare mechanics [-]."""

    key: str
    title: str
    share: float = Field(ge=0)


class KeptRange(Row):
    """A predicted quantity: nominal value in its unit."""

    title: str
    nominal: float
    unit: str


class KeptStep(Row):
    """One step: its number, the length of its slot [mm], settings, shares and predictions."""

    number: int = Field(ge=1)
    length_mm: float = Field(gt=0)
    settings: KeptSettings
    limits: tuple[KeptLimit, ...]
    ranges: tuple[KeptRange, ...]


class ProofRecord(Row):
    """A written strip.

    schema_name: Written as ``schema``.
    written: When.
    program, program_sha256: File name and fingerprint of the program.
    ladder: ``depth`` or ``chip``.
    machine, material, cutter: Names in the tables.
    machine_title, material_title, cutter_title: As shown.
    stickout_mm, drop_mm: Stickout and drop [mm].
    tool: Tool number [-].
    first_cut: What was advised before anything was proven.
    steps: The steps, gentlest first.
    """

    schema_name: Literal["millcalc-proof/1"] = Field(alias="schema")
    written: datetime
    program: str
    program_sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    ladder: Ladder
    machine: str
    machine_title: str
    material: str
    material_title: str
    cutter: str
    cutter_title: str
    stickout_mm: float = Field(gt=0)
    drop_mm: float = Field(gt=0)
    tool: int = Field(ge=0)
    first_cut: KeptSettings
    steps: tuple[KeptStep, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _in_order(self) -> ProofRecord:
        if [step.number for step in self.steps] != list(range(1, len(self.steps) + 1)):
            raise ValueError("the steps must be numbered 1, 2, 3 ...")
        rising = [
            step.settings.axial_depth_mm if self.ladder == "depth" else step.settings.feed_per_tooth_mm
            for step in self.steps
        ]
        if any(later <= earlier for earlier, later in pairwise(rising)):
            raise ValueError(f"the {self.ladder} must rise from step to step")
        return self


def record_path(program: Path) -> Path:
    """Where the record of a program lies.

    program: The program.
    Returns: The same name with ``.proof.json`` as its ending.
    """
    return program.with_suffix(".proof.json")


def fingerprint(text: str) -> str:
    """Fingerprint of a program as it is written.

    text: The program.
    Returns: SHA-256 of its UTF-8 bytes, 64 hexadecimal digits.
    """
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def read_record(program: Path) -> ProofRecord:
    """Read the record of a program, and see that the program is still the one it tells of.

    program: The program that was cut.
    Returns: What was written.
    Raises InputError: When there is no usable record, or the program was changed since.
    """
    path = record_path(program)
    name = str(path)
    refuse_odd(path)
    refuse_odd(program)
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise InputError("a file of more than 5 MB", "what `millcalc proof` wrote", file=name)
        data = path.read_bytes()
        record = ProofRecord.model_validate_json(data.removeprefix(b"\xef\xbb\xbf"))
    except FileNotFoundError:
        raise InputError(
            "no such file",
            "the record that `millcalc proof` wrote beside its program",
            "name the program with --program",
            file=name,
        ) from None
    except OSError as error:
        raise InputError(error.strerror or str(error), "a file that can be read", file=name) from None
    except ValidationError as error:
        first: dict[str, Any] = dict(error.errors(include_url=False, include_input=False)[0])
        field = ".".join(str(part) for part in first["loc"])
        raise InputError(
            str(first["msg"]),
            f"a record of {SCHEMA} as `millcalc proof` wrote it",
            "write the strip again",
            file=name,
            field=field or None,
        ) from None
    try:
        found = hashlib.sha256(program.read_bytes()).hexdigest()
    except FileNotFoundError:
        return record  # the record says all that is needed
    except OSError as error:
        raise InputError(error.strerror or str(error), "a file that can be read", file=str(program)) from None
    if found != record.program_sha256:
        raise InputError(
            "a program that was changed after it was written",
            "the program as `millcalc proof` wrote it",
            "its record does not say what was cut: log the cut with `millcalc log add`, or write a new strip",
            file=str(program),
        )
    return record
