"""The machine: travel, axes and words it does not have."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.gcode.motions import FLAG_CYCLE, FLAG_HOME, FLAG_MACHINE, FLAG_ROTARY
from millcalc.job.setup import Setup
from millcalc.preflight.context import Context
from millcalc.preflight.geometry import reach_mm
from millcalc.preflight.registry import rule
from millcalc.tables.models import Machine

AXES = ("x", "y", "z")


def _span(ctx: Context) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest part coordinates of all motions that are not machine or homing moves."""
    facts = ctx.facts
    part = ((facts.motions.flags & (FLAG_MACHINE | FLAG_HOME)) == 0) & facts.motions.moves
    rows = np.flatnonzero(part)
    return reach_mm(facts.motions, rows)


@rule("TRAVEL-01", Severity.STOP, "larger than the machine", needs=("machine", "motions"),
      what="size of the program against the machine's travel")  # fmt: skip
def _too_large(ctx: Context, machine: Machine) -> Iterator[Finding]:
    """The program is larger than the machine's travel, wherever zero lies.

    Flags: an extent in X, Y or Z above the travel of that axis.
    Why: the axis runs into its end, loses steps and with them the zero.
    Wrong: a program 420 mm wide on 400 mm of travel; or an inch program read as millimetres.
    Right: a program that fits, turned or split.
    Limits of the rule: homing and machine-coordinate moves are left out; the way to the start is not in the program.
    Source: the machine table of the job.
    """
    low, high = _span(ctx)
    travel = machine.travel_mm
    facts = ctx.facts
    for axis, name in enumerate(AXES):
        size, most = float(high[axis] - low[axis]), float(getattr(travel, name))
        if size > most:
            top = facts.bounds[1][:, axis]
            worst = int(np.nanargmax(np.where(np.isfinite(top), top, -np.inf)))
            yield ctx.say.finding(
                "TRAVEL-01",
                Severity.STOP,
                f"the program spans {ctx.say.mm(size)} in {name.upper()}; the machine travels {ctx.say.mm(most)}",
                rows=[worst],
                word=name.upper(),
                compared=(size, most, "mm"),
                action="check the units; turn the part, or split the program",
            )


@rule("TRAVEL-02", Severity.STOP, "outside the machine's travel", needs=("machine", "position", "motions"),
      what="position against the machine's travel")  # fmt: skip
def _outside(ctx: Context, setup: Setup, machine: Machine) -> Iterator[Finding | NotChecked]:
    """The program leaves the machine's travel where zero stands.

    Flags: motions (rapids and arcs' extremes too) beyond either end of an axis, with zero where the job says.
    Why: the axis runs into its end, loses steps and with them the zero; upwards is the usual surprise.
    Wrong: zero 20 mm from the left end, and the program goes to X-25.
    Right: zero farther in, or the stock moved.
    Limits of the rule: soft limits and the way to the start are not known.
    Source: the machine table and the position of the job.
    """
    position, travel, facts = setup.job.position, machine.travel_mm, ctx.facts
    low, high = facts.bounds
    part = ((facts.motions.flags & (FLAG_MACHINE | FLAG_HOME)) == 0) & facts.motions.moves
    for axis, name in enumerate(AXES):
        origin = getattr(position, f"{name}_mm")
        if origin is None:
            yield NotChecked("TRAVEL-02", f"travel in {name.upper()}", "where zero lies is unknown",
                             (f"position.{name}_mm",))  # fmt: skip
            continue
        ends = facts.motions.end_mm[:, axis]
        lowest = np.fmin(low[:, axis], ends) + origin
        highest = np.fmax(high[:, axis], ends) + origin
        most = float(getattr(travel, name))
        for beyond, side in ((-lowest, "lower"), (highest - most, "upper")):
            beyond = np.where(part & np.isfinite(beyond), beyond, -np.inf)
            rows = np.flatnonzero(beyond > 1e-6)
            if len(rows):
                worst = int(rows[np.argmax(beyond[rows])])
                direction = "+" if side == "lower" else "-"
                yield ctx.say.finding(
                    "TRAVEL-02",
                    Severity.STOP,
                    f"goes {ctx.say.mm(beyond[worst])} beyond the {side} end of {name.upper()}",
                    rows=rows,
                    worst=worst,
                    word=name.upper(),
                    compared=(beyond[worst], 0.0, "mm"),
                    action=f"move zero {ctx.say.mm(np.ceil(beyond[worst]), 0.1)} or more towards "
                    f"{direction}{name.upper()}"
                    if name != "z"
                    else "lower the travel height, or move the work or the bed",
                )


@rule("TRAVEL-03", Severity.NOTE, "moves in machine coordinates", needs=("motions",),
      what="moves whose way is not in the program")  # fmt: skip
def _machine_moves(ctx: Context) -> Iterator[Finding]:
    """Moves to a machine position that the program does not place relative to the part.

    Flags: G53 moves, and G28 or G30, where the machine position of program zero is unknown.
    Why: where such a move passes relative to stock and screws cannot be judged.
    Wrong: ``G53 G0 X0 Y0`` right over the clamps.
    Right: lift to a clear height first.
    Limits of the rule: with the zero's machine position known they are followed and judged like others.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.12.
    """
    motions = ctx.program.motions
    special = (motions.flags & (FLAG_MACHINE | FLAG_HOME)) != 0
    rows = np.flatnonzero(special & np.isnan(motions.end_mm).any(axis=1))
    if len(rows):
        yield ctx.say.finding(
            "TRAVEL-03",
            Severity.NOTE,
            "a move to a machine position, whose way over the work is not known here",
            rows=rows,
            word="G",
            action="make sure that the cutter is above everything before this line",
        )


@rule("TRAVEL-04", Severity.STOP, "rotary axis", needs=("motions",), what="rotary axes")
def _rotary(ctx: Context) -> Iterator[Finding]:
    """The program moves a rotary axis.

    Flags: motions with an A, B or C word.
    Why: this check knows three axes; what the part does under the cutter is not judged.
    Wrong: ``G1 X10 A90 F200`` on a three-axis gantry.
    Right: a program for three axes.
    Limits of the rule: none of the rules judges turned work.
    Source: millcalc.
    """
    motions = ctx.program.motions
    rows = np.flatnonzero((motions.flags & FLAG_ROTARY) != 0)
    if len(rows):
        yield ctx.say.finding(
            "TRAVEL-04",
            Severity.STOP,
            "moves a rotary axis, which this machine does not have and this check does not follow",
            rows=rows,
            action="write the program for three axes",
        )


@rule("TRAVEL-05", Severity.STOP, "words this controller lacks", needs=("job", "motions"),
      what="arcs, cycles and tool changes against the controller")  # fmt: skip
def _abilities(ctx: Context, setup: Setup) -> Iterator[Finding]:
    """The program uses what the job says the controller cannot do.

    Flags: arcs, drilling cycles or tool changes where ``controller`` says that there are none.
    Why: such words stop the run, or are skipped in silence, which is worse.
    Wrong: ``G81`` on a controller without cycles.
    Right: the moves written out.
    Limits of the rule: only abilities the job states; what is unknown is left to the checklist.
    Source: the job.
    """
    able, motions = setup.job.controller, ctx.program.motions
    for has, mask, text, action in (
        (able.arcs, motions.is_arc, "arcs (G2, G3)", "write arcs as short lines, or change the output"),
        (able.canned_cycles, (motions.flags & FLAG_CYCLE) != 0, "drilling cycles", "write the moves out"),
    ):
        rows = np.flatnonzero(mask)
        if has is False and len(rows):
            yield ctx.say.finding(
                "TRAVEL-05",
                Severity.STOP,
                f"uses {text}, which this controller does not have",
                rows=rows,
                word="G",
                action=action,
            )
    changes = ctx.say.events("tool change")
    if able.tool_changer is False and len(changes) > 1:
        yield ctx.say.at_event(
            "TRAVEL-05",
            Severity.WARNING,
            "changes the tool within the program, and this machine has no changer",
            changes[1],
            word="M",
            action="split the program, one file a cutter, and zero Z again for each",
            count=len(changes) - 1,
        )


@rule("TRAVEL-06", Severity.NOTE, "free travel the program needs", needs=("motions",),
      what="free travel around zero")  # fmt: skip
def _needed(ctx: Context) -> Iterator[Finding]:
    """How much free travel is needed around zero, where the position of zero is unknown.

    Flags: always, as a note, when the job does not say where zero lies in the travel.
    Why: jogging to these four corners in the air before the start shows that everything is reachable.
    Wrong: starting without having looked.
    Right: the position of zero in the job, or the corners tried by hand.
    Limits of the rule: parking and homing moves are left out.
    Source: plane geometry.
    """
    position = ctx.setup.job.position if ctx.setup else None
    if position is not None and None not in (position.x_mm, position.y_mm, position.z_mm):
        return
    low, high = _span(ctx)
    if np.isnan([low, high]).any():
        return
    yield Finding(
        "TRAVEL-06",
        Severity.NOTE,
        f"needs from zero: X {ctx.say.mm(low[0])} to {ctx.say.mm(high[0])}, "
        f"Y {ctx.say.mm(low[1])} to {ctx.say.mm(high[1])}, "
        f"Z {ctx.say.mm(low[2])} to {ctx.say.mm(high[2])}",
        "jog to these corners above the work before the start",
    )
