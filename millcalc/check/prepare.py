"""Read a program as its job says, and simulate its cut: what the rules are given."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import numpy as np

from millcalc.check import tuning
from millcalc.errors import InputError
from millcalc.gcode.motions import MotionTable
from millcalc.gcode.program import Program
from millcalc.job.setup import Box, Setup
from millcalc.limits.tooling import Tooling
from millcalc.preflight.context import Context, Taught

if TYPE_CHECKING:
    from millcalc.gcode.machine import Observer
    from millcalc.stock.result import Removal

Progress = Callable[[str, float], None]
Learner = Callable[[Sequence[Tooling]], tuple[list[Tooling], str]]


@dataclass(frozen=True)
class CheckOptions:
    """Options of a check.

    units: Units the report speaks in; None takes the job's.
    quiet: Codes accepted for this run, with the reason.
    simulate: Whether to simulate the cut where the job allows it.
    cell_mm: Cell size of the simulated cut; None lets the program choose [mm].
    profile: Dialect profile; None takes the job's.
    block_delete: Whether lines that begin with ``/`` are skipped.
    progress: Called with a stage's name and the share of it that is done, 0 to 1.
    learned: Puts what the log has taught into a tooling, and says what it left out; None leaves the log out.
    """

    units: Literal["mm", "in"] | None = None
    quiet: Mapping[str, str] = field(default_factory=dict)
    simulate: bool = True
    cell_mm: float | None = None
    profile: str | None = None
    block_delete: bool = False
    progress: Progress | None = None
    learned: Learner | None = None


def make_context(
    data: bytes, name: str = "", setup: Setup | None = None, options: CheckOptions | None = None
) -> Context:
    """Read a program and simulate its cut, ready for the rules.

    data: The program's text.
    name: Name to show.
    setup: The job.
    options: Options.
    Returns: What the rules are given.
    """
    options = options or CheckOptions()
    return context_of(read_for(data, name, setup, options), setup, options)


def context_of(program: Program, setup: Setup | None = None, options: CheckOptions | None = None) -> Context:
    """Simulate the cut of a program that was read, ready for the rules.

    program: The program.
    setup: The job.
    options: Options.
    Returns: What the rules are given.
    """
    options = options or CheckOptions()
    removal, missing = _simulate(program, setup, options)
    units = options.units or (setup.job.units if setup else "mm")
    return Context(
        program=program,
        setup=setup,
        removal=removal,
        units=units,
        quiet=options.quiet,
        removal_missing=missing,
        taught=_taught(setup, options.learned),
    )


def _taught(setup: Setup | None, learned: Learner | None) -> Taught:
    """What the log has taught about each tool of a job whose machine, material and cutter are known."""
    from millcalc.limits.fitted import tooling_for

    if setup is None or learned is None:
        return Taught()
    bare = {}
    for number in setup.cutters:
        try:
            bare[number] = tooling_for(setup, number)
        except InputError:
            continue  # each rule that needs it says why
    known, trouble = learned(tuple(bare.values()))
    both = zip(bare.items(), known, strict=True)
    return Taught({number: one.margins for (number, was), one in both if one.margins != was.margins}, trouble)


def read_for(
    data: bytes,
    name: str = "",
    setup: Setup | None = None,
    options: CheckOptions | None = None,
    observe: Observer | None = None,
) -> Program:
    """Read a program with what the job knows of the controller.

    data: The program's text.
    name: Name to show.
    setup: The job.
    options: Options.
    observe: Told of every block just before it is carried out.
    Returns: The program.
    """
    from millcalc.gcode.options import ReadOptions
    from millcalc.gcode.reader import read_program

    options = options or CheckOptions()
    tell = options.progress
    profile = options.profile or (setup.job.controller.profile if setup else None) or "any"
    diameters = {n: f.cutter.diameter_mm for n, f in setup.cutters.items()} if setup else {}
    program = read_program(
        data,
        name,
        options=ReadOptions(profile=profile, block_delete=options.block_delete, tool_diameters_mm=diameters),
        progress=(lambda share: tell("reading", share)) if tell else None,
        observe=observe,
    )
    unit = setup.job.controller.dwell_unit if setup else None
    if unit == "ms" and profile == "any" and (program.motions.dwell_s > 0).any():
        motions = dataclasses.replace(program.motions, dwell_s=program.motions.dwell_s / 1000.0)
        program = dataclasses.replace(program, motions=motions)
    return program


def _simulate(program: Program, setup: Setup | None, options: CheckOptions) -> tuple[Removal | None, str]:
    """The simulated cut, or why there is none."""
    if setup is None:
        return None, "there is no job file"
    if not options.simulate:
        return None, "the cut was not simulated, as asked"
    if setup.stock is None:
        return None, "the stock's size, thickness or zero is unknown"
    if not setup.cutters:
        return None, "no cutter is named"
    if not len(program.motions):
        return None, "the program moves nothing"
    motions = program.motions
    used = {int(t) for t in np.unique(motions.tool[motions.is_feed])}
    assume = next(iter(setup.cutters)) if len(setup.cutters) == 1 and used == {-1} else None
    if assume is None and not used & set(setup.cutters):
        return None, "the job names no cutter that the program uses"
    path_mm = _path_mm(motions, setup.stock)
    if path_mm > tuning.LONGEST_PATH_MM:
        return None, (
            f"its path below the stock's top is {path_mm / 1e6:.0f} km long; more than "
            f"{tuning.LONGEST_PATH_MM / 1e6:.0f} km is not simulated"
        )
    from millcalc.stock.cutter_shapes import shape_from_cutter
    from millcalc.stock.holds import holds_of
    from millcalc.stock.simulate import simulate

    nose = setup.job.nose.collet_nut_diameter_mm
    if nose is None and setup.machine is not None:
        nose = setup.machine.spindle.collet_nut_diameter_mm
    try:
        shapes = {
            n: shape_from_cutter(f.cutter, stickout_mm=f.stickout_mm, nut_diameter_mm=nose)
            for n, f in setup.cutters.items()
        }
    except ValueError as error:
        return None, str(error)
    known = setup.screws is not None or setup.clamps is not None
    holds = holds_of(setup.screws, setup.clamps) if known else None
    tell = options.progress
    removal = simulate(
        motions,
        setup.stock,
        shapes,
        holds=holds,
        assume_tool=assume,
        cell_mm=options.cell_mm,
        progress=(lambda done, total: tell("simulating", done / max(1, total))) if tell else None,
        meanwhile=_load_rules,
    )
    return removal, ""


def _load_rules() -> None:
    """Import what will judge the cut, which takes about as long as a small cut."""
    from millcalc.preflight.rules import all_rules

    all_rules()


def _path_mm(motions: MotionTable, stock: Box) -> float:
    """Length of what is walked step by step [mm]: below the stock's top, of straight motions what may lie over it."""
    low = np.fmin(motions.start_mm[:, 2], motions.end_mm[:, 2]) < stock.z_max
    across = float(np.hypot(stock.x_max - stock.x_min, stock.y_max - stock.y_min)) + 500.0
    length = np.nan_to_num(motions.length_mm[low])
    arcs = motions.is_arc[low]
    return float(np.minimum(length[~arcs], across).sum() + length[arcs].sum())
