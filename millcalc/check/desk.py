"""A program and its job on a desk, ready for rewriting: read and judged as a check does."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.check.prepare import CheckOptions, context_of, read_for
from millcalc.rewrite.desk import Desk

if TYPE_CHECKING:
    from millcalc.gcode.machine import Observer
    from millcalc.gcode.program import Program
    from millcalc.preflight.context import Context


def desk_for(program: Path, job: Path | None, options: CheckOptions) -> Desk:
    """Read the files and put them on a desk.

    program: Program file.
    job: Job file.
    options: Profile, block delete, accepted findings, units.
    Returns: Ready for rewriting.
    """
    from millcalc.gcode.source import read_bytes
    from millcalc.job import build_setup, load_job
    from millcalc.tables import load_shop

    setup = build_setup(load_job(job), job, load_shop()) if job is not None else None
    name = str(program)

    def read(data: bytes, observe: Observer | None) -> Program:
        return read_for(data, name, setup, options, observe)

    def place(read_program: Program) -> Context:
        return context_of(read_program, setup, options)

    return Desk(read_bytes(program), name, setup, read, place)
