"""The whole state of a program at a line, and the places where it can be begun again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.machine import Machine, Observer
from millcalc.gcode.modal import CYCLES, M_CALL, code_name
from millcalc.gcode.motions import RAPID, SPINDLE_UNKNOWN
from millcalc.gcode.program import Program
from millcalc.gcode.request import Request
from millcalc.gcode.state import (
    ARC_ABSOLUTE,
    COMP,
    COOLANT,
    DEPTH,
    FEED,
    FEED_MODE,
    FRAME,
    INCREMENTAL,
    MOTION,
    PLANE,
    POS,
    ROWS,
    RPM,
    SHIFT,
    SPINDLE,
    TOOL,
    UNIT,
    UNIT_KNOWN,
)
from millcalc.gcode.words import Block
from millcalc.preflight.context import Context


@dataclass(frozen=True)
class StateAt:
    """What is in force just before a line is carried out.

    line: The line that would be carried out next [-].
    row: Motions made before it [-].
    position_mm: X, Y, Z of the tip in part coordinates; NaN where unknown [mm].
    programmed: The same in the program's own words: its units and its work offset.
    unit_mm: Millimetres per length unit [mm].
    units_known, incremental, arc_absolute: Whether a unit word came; G91; G90.1.
    motion: Motion code in force times ten; -1 none [-].
    plane, feed_mode: 17 to 19; 93 to 95 [-].
    feed, rpm: F and S in force; NaN before the first.
    spindle: 1, -1, 0, or SPINDLE_UNKNOWN [-].
    tool: Tool in the spindle; -1 unknown [-].
    coolant: Bit 1 mist, bit 2 flood [-].
    offset: Work offset, ``G54`` and so on.
    shifted: Whether G92, G52 or another shift is on, or the offset's place is not known.
    length_offset: ``G43 H1`` where one is on.
    compensation: Flag of G41 or G42; 0 off [-].
    to_initial: G98.
    path_mode: ``G64`` and so on; empty before the first.
    overrides_off: M49 is on.
    depth: Depth of subprogram calls [-].
    times: How often the line is carried out in the whole program [-].
    """

    line: int
    row: int
    position_mm: tuple[float, float, float]
    programmed: tuple[float, float, float]
    unit_mm: float
    units_known: bool
    incremental: bool
    arc_absolute: bool
    motion: int
    plane: int
    feed_mode: int
    feed: float
    rpm: float
    spindle: int
    tool: int
    coolant: int
    offset: str
    shifted: bool
    length_offset: str
    compensation: int
    to_initial: bool
    path_mode: str
    overrides_off: bool
    depth: int
    times: int = 1

    def words(self) -> list[tuple[str, str]]:
        """The state as name and value, for people.

        Returns: In the order in which one sets it.
        """
        inch = self.unit_mm != 1.0
        x, y, z = (
            f"{value:.4f}".rstrip("0").rstrip(".") if value == value else "unknown"
            for value in self.programmed
        )
        spindle = {1: "M3, clockwise", -1: "M4, counter-clockwise", 0: "M5, stopped"}.get(
            self.spindle, "unknown"
        )
        cool = {0: "off", 1: "M7", 2: "M8", 3: "M7 and M8"}[self.coolant]
        return [
            ("units", ("G20, inch" if inch else "G21, mm") if self.units_known else "no unit word yet, mm taken"),
            ("distances", "G91, incremental" if self.incremental else "G90, absolute"),
            ("arc centres", "G90.1, absolute" if self.arc_absolute else "G91.1, from the start"),
            ("plane", f"G{self.plane}"),
            ("work offset", self.offset + (", and a shift (G92, G52 or G10) is on" if self.shifted else "")),
            ("length offset", self.length_offset or "none"),
            ("compensation", {0: "off"}.get(self.compensation, "on")),
            ("motion", "none yet" if self.motion < 0 else code_name("G", self.motion)),
            ("feed", ("none yet" if self.feed != self.feed else f"F{self.feed:g}") + f" (G{self.feed_mode})"),
            ("speed", "none yet" if self.rpm != self.rpm else f"S{self.rpm:g}"),
            ("spindle", spindle),
            ("coolant", cool),
            ("tool", "unknown" if self.tool < 0 else f"T{self.tool}"),
            ("path mode", self.path_mode or "not set"),
            ("position", f"X {x}  Y {y}  Z {z} {'in' if inch else 'mm'}"),
        ]  # fmt: skip


@dataclass
class Blocks:
    """What restarting needs to know of every executed block; arrays grow with the program.

    line, row: Line and motions made before it [-].
    motion_word: Whether the block names its own motion code or moves nothing.
    modal: Motion code in force before it, times ten [-].
    plain: Whether neither compensation nor a canned cycle is in force before it.
    moves: Whether it makes a motion with its motion code.
    odd: Lines and reasons why the program cannot be begun in the middle at all; empty when it can.
    """

    line: list[int] = field(default_factory=list)
    row: list[int] = field(default_factory=list)
    motion_word: list[bool] = field(default_factory=list)
    modal: list[int] = field(default_factory=list)
    plain: list[bool] = field(default_factory=list)
    moves: list[bool] = field(default_factory=list)
    odd: list[tuple[int, str]] = field(default_factory=list)

    def block(self, block: Block, request: Request, machine: Machine) -> None:
        """Note one block.

        block: The block.
        request: Its codes.
        machine: The modal state before it.
        """
        state = machine.state
        if block.settings or "#" in _code(block):
            self.odd.append((block.line, "parameters"))
        if (block.flow is not None and block.flow.keyword) or state[DEPTH] or M_CALL in request.m:
            self.odd.append((block.line, "subprograms or loops"))
        if machine.distorted or block.kind:
            self.odd.append((block.line, "turned, scaled or polar coordinates"))
        if not (block.words or block.g or block.m):
            return
        self.line.append(block.line)
        self.row.append(int(state[ROWS]))
        self.motion_word.append(request.explicit_motion is not None or not request.moves)
        self.modal.append(int(state[MOTION]))
        self.moves.append(request.moves)
        self.plain.append(int(state[COMP]) == 0 and int(state[MOTION]) not in CYCLES)


def _code(block: Block) -> str:
    """A line's text without its comments."""
    text = block.text
    for _, start, end in block.comments:
        text = text[:start] + " " * (end - start) + text[end:]
    return text


class _Snapshot:
    """Keeps the state before the first executed block at or behind a line."""

    def __init__(self, line: int) -> None:
        self.line = line
        self.found: StateAt | None = None
        self.path = ""
        self.length = ""
        self.overrides_off = False
        self.times = 0

    def block(self, block: Block, request: Request, machine: Machine) -> None:
        if not (block.words or block.g or block.m):
            return
        if block.line == self.line:
            self.times += 1
        if block.line >= self.line and self.found is None:
            self.found = _state(block, machine, self.path, self.length, self.overrides_off)
        for code, _, _ in block.m:
            if code in (48, 49):
                self.overrides_off = code == 49
        for code, _, _ in block.g:
            if code in (610, 611, 640):
                self.path = code_name("G", code)
            elif code == 490:
                self.length = ""
            elif code in (430, 431):
                letter = "H" if code == 430 else "Z"
                tail = f" {letter}{block.words[letter][0]:g}" if letter in block.words else ""
                self.length = code_name("G", code) + tail


def _state(block: Block, machine: Machine, path: str, length: str, overrides_off: bool) -> StateAt:
    state, frames = machine.state, machine.frames
    frame = frames.frames[int(state[FRAME])]
    unit = float(state[UNIT])
    x, y, z = (float(state[POS + k]) for k in range(3))
    shift = [float(state[SHIFT + k]) for k in range(3)]
    return StateAt(
        line=block.line,
        row=int(state[ROWS]),
        position_mm=(x, y, z),
        programmed=((x - shift[0]) / unit, (y - shift[1]) / unit, (z - shift[2]) / unit),
        unit_mm=unit,
        units_known=bool(state[UNIT_KNOWN]),
        incremental=bool(state[INCREMENTAL]),
        arc_absolute=bool(state[ARC_ABSOLUTE]),
        motion=int(state[MOTION]),
        plane=int(state[PLANE]),
        feed_mode=int(state[FEED_MODE]),
        feed=float(state[FEED]),
        rpm=float(state[RPM]),
        spindle=int(state[SPINDLE]),
        tool=int(state[TOOL]),
        coolant=int(state[COOLANT]),
        offset=code_name("G", frames.system),
        shifted=any(abs(v) > 1e-12 or v != v for v in shift) or "+" in frame.name,
        length_offset=length,
        compensation=int(state[COMP]),
        to_initial=machine.cycle.to_initial,
        path_mode=path,
        overrides_off=overrides_off,
        depth=int(state[DEPTH]),
    )


def state_at(read: Callable[[bytes, Observer | None], Program], data: bytes, line: int) -> StateAt | None:
    """The state just before a line is carried out for the first time.

    read: Reads bytes, told an observer of the blocks, as :attr:`millcalc.rewrite.desk.Desk.read`.
    data: The program.
    line: Line, 1-based; a line that does nothing stands for the next one that does [-].
    Returns: None when no line from there on is carried out.
    """
    keep = _Snapshot(line)
    read(data, keep.block)
    if keep.found is None:
        return None
    return replace(keep.found, times=max(keep.times, 1))


@dataclass(frozen=True, slots=True)
class Point:
    """A place where a program can be begun again: just after a retract.

    line: Line to go on with [-].
    row: Motions made before it [-].
    place_mm: Where the tip is then, part coordinates [mm].
    quick_s, strict_s: Time into the program, without and with a stop at every corner [s]; None without a
      machine.
    tool: Tool in the spindle [-].
    about: The comment that stands before it, if any.
    """

    line: int
    row: int
    place_mm: tuple[float, float, float]
    quick_s: float | None
    strict_s: float | None
    tool: int
    about: str


def restart_points(ctx: Context) -> tuple[Point, ...]:
    """The natural places to begin a program again: after each retract to its travel height.

    ctx: The program, and the job where there is one.
    Returns: In the order of the program; retracts inside subprograms are left out.
    """
    motions, facts = ctx.program.motions, ctx.facts
    n = len(motions)
    level = facts.travel_level_mm
    if facts.top_mm is not None:
        level = facts.top_mm if level is None else max(min(level, facts.top_mm + 1.0), facts.top_mm)
    if n < 2 or level is None:
        return ()
    end = motions.end_mm[:, 2]
    start = motions.start_mm[:, 2]
    with np.errstate(invalid="ignore"):
        up = (motions.kind == RAPID) & (end >= level - 1e-6) & ((start < end - 1e-6) | np.isnan(start))
    deep = _cut_before(ctx)
    rows = np.flatnonzero(
        up[:-1] & (motions.call_depth[:-1] == 0) & (motions.line[1:] != motions.line[:-1]) & deep[:-1]
    )
    quick = np.cumsum(np.nan_to_num(ctx.feeds.time_quick_s)) if ctx.feeds is not None else None
    strict = np.cumsum(np.nan_to_num(ctx.feeds.time_strict_s)) if ctx.feeds is not None else None
    comments = [(event.motion, event.text) for event in ctx.program.events if event.kind == "comment"]
    out: list[Point] = []
    for row in rows.tolist():
        x, y, z = (float(v) for v in motions.end_mm[row])
        about = next((text for at, text in reversed(comments) if at == row + 1), "")
        out.append(
            Point(
                int(motions.line[row + 1]),
                row + 1,
                (x, y, z),
                None if quick is None else float(quick[row]),
                None if strict is None else float(strict[row]),
                int(motions.tool[row + 1]),
                about,
            )
        )
    return tuple(out)


def _cut_before(ctx: Context) -> NDArray[np.bool_]:
    """Motions with a cut somewhere before them."""
    return np.asarray(np.cumsum(ctx.facts.cutting) > 0)


SPINDLE_WORDS = {1: "M3", -1: "M4", 0: "M5", SPINDLE_UNKNOWN: ""}
