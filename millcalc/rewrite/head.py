"""The lines in front of a program that is begun again: up, clear, set, spindle, and the way down."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from millcalc.gcode.motions import ARC_CW, LINE, SPINDLE_UNKNOWN
from millcalc.gcode.profiles import load_profile
from millcalc.gcode.program import Program
from millcalc.limits.tuning import RAMP_FEED_SHARE
from millcalc.preflight.context import Context
from millcalc.preflight.limits import tooling
from millcalc.preflight.tuning import SPIN_UP_DEFAULT_S, TRAVEL_ABOVE_MM
from millcalc.rewrite import tuning
from millcalc.rewrite.state import StateAt
from millcalc.rewrite.way_in import Piece, heights_down


def stays(tool: int) -> str:
    """The comment that stands where a tool change would: the cutter is still fitted.

    tool: Tool number [-].
    """
    return f"(T{tool} stays in the spindle: it is the one that was cutting)"


def with_tool(head: bytes, tool: int) -> bytes:
    """The lines in front with the cutter named, as they are read and checked: the machine is not told to change it.

    head: The lines in front.
    tool: Tool number [-].
    """
    return head.replace(stays(tool).encode("ascii"), f"T{tool} M6".encode("ascii"))


def head_of(
    ctx: Context, wanted: StateAt, begins: StateAt, pieces: list[Piece], angle_deg: float
) -> tuple[bytes, tuple[float, float]]:
    """The lines in front of the rest: up before anything else, then everything that may have been kept is set.

    ctx: The old program and its job.
    wanted, begins: State at the line that was asked for, and where the rest begins.
    pieces: Path of the ramp; empty to travel.
    angle_deg: Slope of the ramp [deg].
    Returns: The lines, and where the cutter goes down: x, y [mm].
    """
    program, show = ctx.program, _Numbers(begins.unit_mm)
    lines = ["%"] if program.data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"%") else []
    lines += [
        f"(begun again at line {wanted.line}; the rest begins with line {begins.line} of the whole program)",
        *_up_first(ctx, wanted, show),
        *_cleared(program, begins),
    ]
    if begins.tool >= 0:
        lines.append(stays(begins.tool))
    if begins.length_offset:
        lines.append(begins.length_offset)
    lines.append(f"G0 Z{show.place(travel_mm(ctx))}")
    lines += _spindle(ctx, begins, load_profile(program.profile).dwell)
    lines += [word for bit, word in ((1, "M7"), (2, "M8")) if begins.coolant & bit]
    down, place = (
        _down_ramp(ctx, begins, pieces, angle_deg, show) if pieces else _down_travel(ctx, begins, show)
    )
    lines += [*down, *_restored(begins, program)]
    end_of_line = "\r\n" if b"\r\n" in program.data else "\n" if b"\n" in program.data else "\r"
    return "".join(line + end_of_line for line in lines).encode("ascii"), place


@dataclass(frozen=True)
class _Numbers:
    """Numbers in the program's own length unit."""

    unit_mm: float

    def place(self, value_mm: float) -> str:
        text = f"{value_mm / self.unit_mm:.{5 if self.unit_mm != 1.0 else 4}f}".rstrip("0")
        text = text + "0" if text.endswith(".") else text
        return "0.0" if text == "-0.0" else text

    def feed(self, value_mm_min: float) -> str:
        value = value_mm_min / self.unit_mm
        return f"F{value:.{2 if self.unit_mm != 1.0 else 0}f}" if value >= 1 else f"F{value:.4f}"


def _up_first(ctx: Context, wanted: StateAt, show: _Numbers) -> list[str]:
    """Straight up from wherever the machine stands, by Z alone and without trusting any offset.

    The cutter may still stand in its slot, a length offset or a shift may still be on: an incremental rise needs none
    of them. It is as far as from the depth at the line to the travel height.
    """
    unit = "G20" if show.unit_mm != 1.0 else "G21"
    low = wanted.position_mm[2]
    rise = travel_mm(ctx) - (low if low == low else (ctx.facts.top_mm or 0.0))
    return [
        "(first straight up from where it stands: the cutter may still be in its slot)",
        f"{unit} G91 G94",
        f"G0 Z{show.place(max(rise, TRAVEL_ABOVE_MM))}",
        "G90",
    ]


def _cleared(program: Program, begins: StateAt) -> list[str]:
    """What a machine that stopped may keep, switched off; then the offset of the program."""
    refused = set(load_profile(program.profile).refuse_g)
    wanted = [(17.0, "G17"), (40.0, "G40"), (49.0, "G49"), (80.0, "G80"), (91.1, "G91.1"), (92.1, "G92.1")]
    words = [word for code, word in wanted if code not in refused]
    lines = [" ".join(word for word in words if word != "G92.1")]
    if "G92.1" in words:
        lines.append("G92.1")
    if _uses_offset(program):
        lines.append(begins.offset)
    return lines


def _down_ramp(
    ctx: Context, begins: StateAt, pieces: list[Piece], angle_deg: float, show: _Numbers
) -> tuple[list[str], tuple[float, float]]:
    """Over the open path, then down along it on a ramp."""
    levels = heights_down(pieces, begins.position_mm[2], angle_deg)
    place = pieces[0].start
    plunge, ramp = _feeds(ctx, begins.tool, float(ctx.program.motions.feed_mm_min[begins.row - 1]))
    lines = [
        f"G0 X{show.place(place[0])} Y{show.place(place[1])}",
        f"G0 Z{show.place(_near_mm(ctx, levels[0], begins.row))}",
        f"G1 Z{show.place(levels[0])} {show.feed(plunge)}",
    ]
    for k, piece in enumerate(pieces):
        end = f"X{show.place(piece.end[0])} Y{show.place(piece.end[1])} Z{show.place(levels[k + 1])}"
        tail = f" {show.feed(ramp)}" if k == 0 else ""
        if piece.kind == LINE:
            lines.append(f"G1 {end}{tail}")
        else:
            i, j = piece.centre[0] - piece.start[0], piece.centre[1] - piece.start[1]
            word = "G2" if piece.kind == ARC_CW else "G3"
            lines.append(f"{word} {end} I{show.place(i)} J{show.place(j)}{tail}")
    return lines, place


def _down_travel(ctx: Context, begins: StateAt, show: _Numbers) -> tuple[list[str], tuple[float, float]]:
    """To the place where the rest begins, at travel height."""
    x, y, z = begins.position_mm
    lines = [] if math.isnan(x) or math.isnan(y) else [f"G0 X{show.place(x)} Y{show.place(y)}"]
    if not math.isnan(z) and abs(z - travel_mm(ctx)) > 1e-9:
        lines.append(f"G0 Z{show.place(z)}")
    return lines, (x, y)


def _uses_offset(program: Program) -> bool:
    return any(word.startswith("G5") for word in program.modes_seen)


def travel_mm(ctx: Context) -> float:
    """Height to travel at: the program's own highest, and above everything the job describes [mm].

    ctx: Program and job.
    """
    facts, setup = ctx.facts, ctx.setup
    heights = facts.motions.end_mm[facts.rapid, 2]
    heights = heights[np.isfinite(heights) & ((facts.motions.flags[facts.rapid] & 3) == 0)]
    most = [float(heights.max())] if len(heights) else []
    if setup is not None:
        tops = [] if setup.stock_top_mm is None else [setup.stock_top_mm]
        tops += [s.z_top_mm for s in setup.screws or ()] + [b.z_max for _, b in setup.clamps or ()]
        most += [max(tops) + TRAVEL_ABOVE_MM] if tops else []
    return max(most, default=TRAVEL_ABOVE_MM)


def _near_mm(ctx: Context, begin_mm: float, row: int) -> float:
    """Height the way in goes down to at rapid: just above the stock, or as low as the program's own rapids [mm]."""
    facts = ctx.facts
    if facts.top_mm is not None:
        return max(begin_mm, facts.top_mm) + tuning.RESTART_NEAR_MM
    lows = facts.motions.end_mm[:row, 2][facts.rapid[:row]]
    lows = lows[np.isfinite(lows)]
    return max(begin_mm, float(lows.min())) if len(lows) else travel_mm(ctx)


def _feeds(ctx: Context, tool: int, cutting_mm_min: float) -> tuple[float, float]:
    """Plunge and ramp feeds that go with the feed of the cut [mm/min]."""
    from millcalc.limits.entries import plunge_share

    number = tool if tool >= 0 or ctx.facts.assumed_tool is None else ctx.facts.assumed_tool
    found = tooling(ctx, number) if ctx.setup is not None else "no job"
    share = 0.2 if isinstance(found, str) else plunge_share(found)
    return cutting_mm_min * share, cutting_mm_min * RAMP_FEED_SHARE


def _spindle(ctx: Context, state: StateAt, dwell: dict[str, float]) -> list[str]:
    if ctx.facts.speed_set_by in ("dial", "fixed"):
        speed = "" if state.rpm != state.rpm else f"S{state.rpm:g} "
        word = {1: "M3", -1: "M4"}.get(state.spindle, "")
        start = [(speed + word).strip()] if speed or word else []
        return [*start, "M0 (switch the motor on, let it reach its speed, then go on)"]
    if state.spindle in (0, SPINDLE_UNKNOWN):
        turns = [] if state.rpm != state.rpm else [f"S{state.rpm:g}"]
        return [
            *turns,
            "M0 (this program never starts the spindle: start it, let it reach its speed, then go on)",
        ]
    machine = ctx.setup.machine if ctx.setup else None
    seconds = math.ceil((machine.spindle.spin_up_s if machine else SPIN_UP_DEFAULT_S) + 1)
    letter = "P" if "P" in dwell else next(iter(dwell), "P")
    unit = dwell.get(letter, 1.0)
    if ctx.setup is not None and ctx.setup.job.controller.dwell_unit == "ms" and unit == 1.0:
        unit = 0.001
    speed = "" if state.rpm != state.rpm else f"S{state.rpm:g} "
    return [f"{speed}{'M3' if state.spindle == 1 else 'M4'}", f"G4 {letter}{seconds / unit:g}"]


def _restored(state: StateAt, program: Program) -> list[str]:
    """Modes and feed as they were, in one line."""
    words = [f"G{state.plane}"] if state.plane != 17 else []
    words += ["G91"] if state.incremental else []
    if program.modes_seen & {"G90.1", "G91.1"}:
        words.append("G90.1" if state.arc_absolute else "G91.1")
    if program.modes_seen & {"G98", "G99"}:
        words.append("G98" if state.to_initial else "G99")
    words += [state.path_mode] if state.path_mode else []
    words += ["G95"] if state.feed_mode == 95 else []
    words += ["M49"] if state.overrides_off else []
    words += [f"F{_plain(state.feed)}"] if state.feed == state.feed else []
    return [" ".join(words)] if words else []


def _plain(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")
