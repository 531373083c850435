"""The record that is kept beside a proof strip, made from the strip."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any

from millcalc.advise.proof import Strip, step_advice
from millcalc.advise.proof_record import SCHEMA, KeptSettings, fingerprint
from millcalc.advise.result import Settings


def record_data(strip: Strip, program: str, written: datetime) -> dict[str, Any]:
    """The record that is kept beside the program, JSON-ready.

    strip: The strip.
    program: File name of the program.
    written: When it is written.
    Returns: As :class:`millcalc.advise.proof_record.ProofRecord` reads it.
    """
    tooling = strip.tooling
    steps = []
    for step in strip.steps:
        answer = step_advice(strip, step)
        steps.append(
            {
                "number": step.number,
                "length_mm": round(step.length_mm, 3),
                "settings": _settings(answer.settings),
                "limits": [{"key": one.key, "title": one.title, "share": one.share} for one in answer.limits],
                "ranges": [
                    {"title": one.title, "nominal": one.nominal, "unit": one.unit} for one in answer.ranges
                ],
            }
        )
    return {
        "schema": SCHEMA,
        "written": written.isoformat(),
        "program": program,
        "program_sha256": fingerprint(strip.program),
        "ladder": strip.ladder,
        "machine": tooling.machine.name,
        "machine_title": tooling.machine.title,
        "material": tooling.material.name,
        "material_title": tooling.material.title,
        "cutter": tooling.cutter.name,
        "cutter_title": tooling.cutter.title,
        "stickout_mm": tooling.stickout_mm,
        "drop_mm": tooling.drop_mm,
        "tool": strip.tool,
        "first_cut": _settings(strip.first_cut.settings),
        "steps": steps,
    }


def _settings(settings: Settings) -> dict[str, Any]:
    return {name: value for name, value in asdict(settings).items() if name in KeptSettings.model_fields}
