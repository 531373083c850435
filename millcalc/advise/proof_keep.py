"""What is written of a proof strip: the program, and its card and its record beside it."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any

from millcalc.advise.proof import Strip, step_advice
from millcalc.advise.proof_record import SCHEMA, KeptSettings, fingerprint, record_path
from millcalc.advise.result import Settings


def card_path(program: Path) -> Path:
    """Where the card of a strip is kept.

    program: The program.
    Returns: Path beside it.
    """
    return program.with_suffix(".card.txt")


def strip_files(strip: Strip, program: Path, card: str, written: datetime) -> dict[Path, str]:
    """What is written of a strip.

    strip: The strip.
    program: Where the program goes; the others are kept beside it.
    card: Text of the card.
    written: When it is written.
    Returns: Text by file: the program, its card, its record.
    """
    record = record_data(strip, program.name, written)
    return {
        program: strip.program,
        card_path(program): card,
        record_path(program): json.dumps(record, indent=2, ensure_ascii=False) + "\n",
    }


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
