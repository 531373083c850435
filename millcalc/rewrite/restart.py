"""A program begun again after a stop: to a point of the open path, down on a ramp, and on as it was written."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, fields, replace

import numpy as np

from millcalc.errors import ProgramError
from millcalc.findings import Finding
from millcalc.gcode.motions import LINE, SPINDLE_UNKNOWN, MotionTable
from millcalc.gcode.program import Program
from millcalc.preflight.context import Context
from millcalc.preflight.limits import tooling
from millcalc.preflight.run import Outcome
from millcalc.rewrite import tuning
from millcalc.rewrite.desk import Desk, judged, refuse_unreadable
from millcalc.rewrite.head import head_of, with_tool
from millcalc.rewrite.state import Blocks, Point, StateAt, restart_points, state_at
from millcalc.rewrite.way_in import Piece, path_back
from millcalc.stock.result import Removal

NEAR_MM = 1e-3  # mm; the rest of the program may begin this far from where it did (rounding of the words)


@dataclass(frozen=True)
class Survey:
    """A program as one needs to see it in order to begin again.

    context: The program, its job and its simulated cut.
    points: The natural places to begin again.
    blocks: What every executed block says.
    """

    context: Context
    points: tuple[Point, ...]
    blocks: Blocks


@dataclass(frozen=True)
class Reentry:
    """A program that goes on from a line.

    data: The program.
    state: State at the line that was asked for.
    begins: State where the rest of the old program begins in the new one.
    way: ``ramp`` down the open path, or ``travel`` height, where the old program goes on by itself.
    ramp_mm, ramp_deg: Length [mm] and angle [deg] of the ramp; 0 without one.
    place_mm: Where the cutter first goes down: x, y [mm].
    added: Lines put in front of the rest [-].
    outcome: What the checks find, with the stock as it is at the stop.
    left: Stops and warnings; while there are any it is not named good.
    simulated: Whether its cut could be simulated in what is left of the stock.
    """

    data: bytes
    state: StateAt
    begins: StateAt
    way: str
    ramp_mm: float
    ramp_deg: float
    place_mm: tuple[float, float]
    added: int
    outcome: Outcome
    left: tuple[Finding, ...]
    simulated: bool

    @property
    def good(self) -> bool:
        """Whether the checks found no stop and no warning."""
        return not self.left


def survey(desk: Desk) -> Survey:
    """Read a program for beginning it again.

    desk: The program, and its job where there is one.
    Returns: Restart points and blocks.
    Raises ProgramError: If it cannot be read to its end.
    """
    ctx = desk.look(desk.data)
    refuse_unreadable(ctx.program, desk.data)
    blocks = Blocks()
    desk.read(desk.data, blocks.block)
    return Survey(ctx, restart_points(ctx), blocks)


def state_for(desk: Desk, line: int) -> StateAt:
    """The state at a line.

    desk: The program.
    line: Line, 1-based [-].
    Returns: The state before the first executed line from there on.
    Raises ProgramError: If no line from there on is carried out.
    """
    found = state_at(desk.read, desk.data, line) if line >= 1 else None
    if found is None:
        raise ProgramError(
            f"line {line}",
            "a line of the program that is carried out, or one before it",
            "millcalc restart without --line lists where it can be begun again",
            file=desk.name,
            line=line,
            field="--line",
        )
    return found


def reenter(desk: Desk, seen: Survey, line: int) -> Reentry:
    """Make a program that goes on from a line.

    desk: The program and its job.
    seen: The program as surveyed.
    line: The line that was being carried out when it stopped [-].
    Returns: The program, read again, its rest compared with the old one motion by motion, and checked.
    Raises ProgramError: If the program cannot be begun there with certainty.
    """
    wanted = state_for(desk, line)
    _refuse_odd(desk, seen, wanted)
    motions = seen.context.program.motions
    if wanted.row >= len(motions):
        raise ProgramError(
            f"line {line}, behind the last motion", "a line with motions to come", file=desk.name, line=line
        )
    entry = _entry(desk, seen, wanted)
    head, place = head_of(seen.context, wanted, entry.begins, entry.pieces, entry.angle_deg)
    rest = int(seen.context.program.line_starts[entry.begins.line - 1])
    data = head + desk.data[rest:]
    told = with_tool(head, entry.begins.tool) + desk.data[rest:]
    program = desk.read(told, None)
    refuse_unreadable(program, told)
    _compare_rest(seen.context.program, program, entry.begins.row, desk.name, entry.begins.line)
    ctx = _placed(desk, seen.context, program, wanted.row)
    outcome, left = judged(ctx)
    return Reentry(
        data, wanted, entry.begins, "ramp" if entry.pieces else "travel",
        sum(piece.length_mm for piece in entry.pieces), entry.angle_deg, place,
        len(re.split(rb"\r\n|\r|\n", head)) - 1, outcome, left, ctx.removal is not None,
    )  # fmt: skip


def _refuse_odd(desk: Desk, seen: Survey, wanted: StateAt) -> None:
    """Refuse what cannot be begun in the middle."""
    why = ""
    line = wanted.line
    if seen.blocks.odd:
        line, what = seen.blocks.odd[0]
        why = f"a program with {what}: what they hold at a line depends on what ran before"
    elif wanted.shifted:
        why = f"line {wanted.line}, where a shift (G92, G52, G10) or an offset of unknown place is on"
    elif wanted.length_offset and not wanted.length_offset.startswith("G43 H"):
        why = f"line {wanted.line}, where {wanted.length_offset} is on"
    elif wanted.feed_mode == 93:
        why = f"line {wanted.line}, in inverse time (G93)"
    if why:
        raise ProgramError(
            why,
            "a plain program in one work offset",
            "set the state shown by hand, or begin from the start; the cuts that are done run in the air then",
            file=desk.name,
            line=line,
        )


@dataclass(frozen=True)
class _Entry:
    begins: StateAt
    pieces: list[Piece]
    angle_deg: float


def _entry(desk: Desk, seen: Survey, wanted: StateAt) -> _Entry:
    """Where the rest begins, and the ramp that leads there."""
    ctx, motions, blocks = seen.context, seen.context.program.motions, seen.blocks
    angle = _ramp_deg(ctx, wanted.tool)
    top = ctx.facts.top_mm
    retracted = {p.row for p in seen.points}
    earliest = max((p.row for p in seen.points if p.row <= wanted.row), default=0)
    first = next(
        k for k in range(len(blocks.line)) if blocks.line[k] == wanted.line and blocks.row[k] == wanted.row
    )
    for k in range(first, -1, -1):
        row = blocks.row[k]
        if row < earliest:
            break
        if not blocks.plain[k] or row >= len(motions):
            continue
        z = float(motions.start_mm[row, 2])
        if math.isnan(motions.start_mm[row].sum()):
            continue
        above = tuning.RESTART_NEAR_MM / 2
        high = z >= top + above if top is not None else row in retracted
        if high:
            if _stands_alone(blocks, k, (0,)):
                return _Entry(_state(desk, blocks.line[k]), [], 0.0)
            continue
        diameter = float(np.nan_to_num(ctx.facts.diameter_mm[row]))
        least = max(tuning.RESTART_BACK_MM, tuning.RESTART_BACK_DIAMETERS * diameter)
        pieces = path_back(motions, row, max(least, _ramp_length(ctx, z, angle)))
        long = sum(piece.length_mm for piece in pieces)
        if long < least - 1e-6 or not _stands_alone(blocks, k, (10,) if pieces[-1].kind == LINE else ()):
            continue
        begins = _state(desk, blocks.line[k])
        if begins.row == row:
            return _Entry(begins, pieces, angle)
    for point in reversed([p for p in seen.points if p.row <= wanted.row]):
        at = next((i for i in range(len(blocks.line)) if blocks.line[i] == point.line), None)
        if at is None or blocks.row[at] != point.row or not blocks.plain[at]:
            continue
        if _stands_alone(blocks, at, (0,)):
            return _Entry(_state(desk, point.line), [], 0.0)
    raise ProgramError(
        f"line {wanted.line}, before which there is no retract and no open path",
        "a line behind the first retract",
        "begin from the start: little or nothing is cut before this line",
        file=desk.name,
        line=wanted.line,
    )


def _state(desk: Desk, line: int) -> StateAt:
    found = state_at(desk.read, desk.data, line)
    assert found is not None
    return found


def _stands_alone(blocks: Blocks, at: int, modal: tuple[int, ...]) -> bool:
    """Whether the next moving block names its motion code, or relies on one that the way in leaves in force."""
    for k in range(at, len(blocks.line)):
        if blocks.moves[k]:
            return blocks.motion_word[k] or blocks.modal[k] in modal
    return True


def _ramp_deg(ctx: Context, tool: int) -> float:
    from millcalc.limits.entries import ramp_angle_deg

    found = tooling(ctx, int(tool)) if ctx.setup is not None else "no job"
    if isinstance(found, str) and ctx.setup is not None and ctx.facts.assumed_tool is not None:
        found = tooling(ctx, ctx.facts.assumed_tool)
    return tuning.RESTART_RAMP_DEG if isinstance(found, str) else ramp_angle_deg(found)


def _ramp_length(ctx: Context, z_mm: float, angle_deg: float) -> float:
    """Path that a ramp from the stock top (or a little above the floor) takes [mm]."""
    top = ctx.facts.top_mm
    drop = max((top - z_mm) if top is not None else 1.0, 0.2)
    return min(drop / math.tan(math.radians(angle_deg)), tuning.RESTART_BACK_MOST_MM)


# ---- checks
def _compare_rest(old: Program, new: Program, row: int, name: str, line: int) -> None:
    """Make sure that the rest makes the very motions that the old program makes from there on.

    Raises ProgramError: If it does not.
    """
    count = len(old.motions) - row
    shift = len(new.motions) - count
    if shift >= 0:
        for column in fields(MotionTable):
            if column.name in ("line", "frame", "flags"):
                continue
            one = getattr(old.motions, column.name)[row:]
            two = getattr(new.motions, column.name)[shift:]
            if column.name in ("start_mm", "end_mm", "centre_mm", "length_mm"):
                same = np.allclose(one, two, rtol=0, atol=NEAR_MM, equal_nan=True)
            elif column.name == "spindle_dir":
                same = bool(np.all((one == two) | (one == SPINDLE_UNKNOWN)))
            else:
                same = np.allclose(one, two, rtol=1e-6, atol=1e-6, equal_nan=True)
            if not same:
                shift = -1
                what = column.name
                break
    else:
        what = "number of motions"
    if shift < 0:
        raise ProgramError(
            f"a rest whose {what} would not be the same when it is begun at this line; nothing was written",
            "a line before which everything the rest relies on can be set again",
            "choose one of the restart points",
            file=name,
            line=line,
        )


def _placed(desk: Desk, old: Context, new: Program, done: int) -> Context:
    """The new program in the stock as the old one has left it."""
    if old.removal is None:
        return desk.place(new)
    before = {f.name: getattr(old.program.motions, f.name)[:done] for f in fields(MotionTable)}
    joined = MotionTable(
        **{
            f.name: np.concatenate([before[f.name], getattr(new.motions, f.name)])
            for f in fields(MotionTable)
        }
    )
    ctx = desk.place(replace(new, motions=joined))
    removal = ctx.removal
    return replace(ctx, program=new, removal=None if removal is None else _rows_from(removal, done))


def _rows_from(removal: Removal, first: int) -> Removal:
    """A simulated cut without its first motions."""
    size = len(removal.volume_mm3)
    columns = {
        f.name: getattr(removal, f.name)[first:]
        for f in fields(Removal)
        if isinstance(getattr(removal, f.name), np.ndarray) and len(getattr(removal, f.name)) == size
    }
    return replace(
        removal,
        **columns,
        jumps=tuple(replace(j, motion=j.motion - first) for j in removal.jumps if j.motion >= first),
        loose=tuple(replace(p, motion=p.motion - first) for p in removal.loose if p.motion >= first),
    )
