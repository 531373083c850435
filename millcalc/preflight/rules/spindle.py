"""The spindle: does it turn, the right way, and is it given time to reach its speed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, Severity
from millcalc.gcode.motions import SPINDLE_UNKNOWN
from millcalc.gcode.program import Event
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.heights import SURFACE_MM
from millcalc.preflight.moments import first_contact
from millcalc.preflight.registry import rule


def by_hand(ctx: Context) -> bool:
    """Whether the speed is set by hand, not by the program.

    ctx: Program and set-up.
    Returns: True for a dialled or fixed spindle.
    """
    return ctx.facts.speed_set_by in ("dial", "fixed")


@rule("SPIN-01", Severity.STOP, "cutting with the spindle not running", what="whether the spindle turns",
      needs=("motions",))  # fmt: skip
def _not_running(ctx: Context) -> Iterator[Finding]:
    """Cuts while the program has not started the spindle.

    Flags: feed motions into the material before any M3 or M4, or after an M5. With a motor that is switched
      by hand: no program stop before the first cut that would give time to switch it on. A program without any
      spindle word (no M3, M4, M5, S), where no job says who switches it, gives a note only.
    Why: a cutter that does not turn breaks at the first touch.
    Wrong: ``G0 Z5 / G1 Z-0.5 F120`` with no ``M3`` before.
    Right: ``M3 S18000 / G4 P4 / G0 Z5 / G1 Z-0.5 F120``.
    Limits of the rule: whether the motor really turns cannot be seen in a program; look before the first plunge.
    Source: common practice, no source.
    """
    facts = ctx.facts
    if by_hand(ctx):
        first = facts.first_cut
        if first is None:
            return
        stops = [e for k in ("stop", "optional stop") for e in ctx.say.events(k) if e.motion <= first]
        started = bool((np.abs(facts.motions.spindle_dir[: first + 1]) == 1).any())
        if not stops and not started:
            yield ctx.say.finding(
                "SPIN-01",
                Severity.NOTE,
                "the motor is switched by hand, and nothing in the program waits for that before the first cut",
                rows=[first],
                action="switch the motor on before pressing start, or put M0 before the first plunge",
            )
        return
    if facts.speed_set_by is None and not ctx.say.events("spindle") and not ctx.say.events("speed"):
        if facts.first_cut is not None:
            fact = "nothing in the program switches the spindle"
            action = "switch it on by hand before pressing start, or write M3 and a speed"
            yield ctx.say.finding("SPIN-01", Severity.NOTE, fact, rows=[facts.first_cut], action=action)
        return
    still = (facts.motions.spindle_dir == 0) | (facts.motions.spindle_dir == SPINDLE_UNKNOWN)
    rows = np.flatnonzero(facts.cutting & still & ~_stopped_by_change(ctx))
    if len(rows):
        ever = bool((np.abs(facts.motions.spindle_dir[: rows[0]]) == 1).any())
        yield ctx.say.finding(
            "SPIN-01",
            Severity.STOP,
            "cuts with the spindle stopped" if ever else "cuts before the spindle is started",
            rows=rows,
            worst=int(rows[0]),
            share=first_contact(ctx, int(rows[0])),
            action="start the spindle (M3 and a speed) and give it time before this line",
        )


def _stopped_by_change(ctx: Context) -> NDArray[np.bool_]:
    """Motions for which a tool change stopped the spindle that had been running; SPIN-11 speaks of them."""
    mask = np.zeros(ctx.facts.n, dtype=bool)
    starts = [(e.motion, e.line) for e in ctx.say.events("spindle") if e.value]
    for event in ctx.say.events("tool change"):
        if not any((m, line) < (event.motion, event.line) for m, line in starts):
            continue
        after = [m for m, line in starts if (m, line) >= (event.motion, event.line)]
        mask[event.motion : after[0] if after else None] = True
    return mask


@rule("SPIN-03", Severity.WARNING, "no time to reach speed", needs=("motions",),
      what="time for the spindle to reach its speed")  # fmt: skip
def _no_spin_up(ctx: Context) -> Iterator[Finding]:
    """The cutter meets the material before the spindle can be at speed.

    Flags: less dwell and travel time between a spindle start and the next cut than the spindle needs: a warning
      where the machine's time is known, or where other starts of the program have their pause; else a note.
    Why: a cutter at a tenth of its speed takes ten times the chip, and snaps.
    Wrong: ``M3 S18000 / G1 Z-0.5 F120``.
    Right: ``M3 S18000 / G4 P4 / G1 Z-0.5 F120``.
    Limits of the rule: travel counts at the machine's rapid speed where it is known; some controllers wait by
      themselves.
    Source: common practice, no source; the time is the machine table's, 3 s without one.
    """
    facts = ctx.facts
    if by_hand(ctx):
        return
    machine = ctx.setup.machine if ctx.setup else None
    need = machine.spindle.spin_up_s if machine else tuning.SPIN_UP_DEFAULT_S
    running, starts = False, 0
    waits, rows, after = [], [], []
    for event in ctx.say.events("spindle"):
        if event.value == 0:
            running = False
            continue
        if running:
            continue
        running = True
        cuts = np.flatnonzero(facts.cutting[event.motion :])
        if not len(cuts):
            continue
        starts += 1
        row = event.motion + int(cuts[0])
        between = slice(event.motion, row)
        waited = float(facts.motions.dwell_s[between].sum()) + _travel_s(ctx, between)
        if waited < need * 0.95:
            waits.append(waited)
            rows.append(row)
            after.append(event.line)
    if rows:
        least = min(waits)
        worst = rows[waits.index(least)]
        lines = list(dict.fromkeys(after))
        where = f"line {lines[0]}" if len(lines) == 1 else "lines " + ", ".join(map(str, lines[:5]))
        where += f" and {len(lines) - 5} more" if len(lines) > 5 else ""
        yield ctx.say.finding(
            "SPIN-03",
            Severity.WARNING if machine or len(rows) < starts else Severity.NOTE,
            f"{least:.1f} s from the spindle's start ({where}) to the first cut; it needs about {need:.0f} s",
            rows=sorted(rows),
            worst=worst,
            share=first_contact(ctx, worst),
            compared=(least, need, "s"),
            action=f"put a dwell of {max(1, int(np.ceil(need - least)))} s after {where} "
            "(G4 P, in the unit your controller reads)",
        )


def _travel_s(ctx: Context, between: slice) -> float:
    if ctx.feeds is None:
        return 0.0
    moving = ~ctx.facts.standing[between]
    return float(np.nansum(ctx.feeds.time_quick_s[between][moving]))


@rule("SPIN-04", Severity.STOP, "spindle turns the wrong way", what="direction of rotation")
def _reverse(ctx: Context) -> Iterator[Finding]:
    """The spindle is started counter-clockwise.

    Flags: M4 anywhere the program moves at feed; the way back out of a thread (G84), which turns by itself, is none.
    Why: an ordinary right-hand cutter rubs backwards: it burns or breaks at once.
    Wrong: ``M4 S18000``.
    Right: ``M3 S18000``.
    Limits of the rule: a left-hand cutter, which is rare, needs M4; the cutter table does not know the hand.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.6.3: M4 turns counter-clockwise.
    """
    facts = ctx.facts
    start = next((e for e in ctx.say.events("spindle") if e.value < 0), None)
    if start is not None and (facts.feed & (facts.motions.spindle_dir == -1)).any():
        yield ctx.say.at_event(
            "SPIN-04",
            Severity.STOP,
            "the spindle turns counter-clockwise (M4) while the program cuts",
            start,
            word="M",
            action="write M3, unless a left-hand cutter is fitted",
        )


@rule("SPIN-09", Severity.STOP, "speed changed inside the material", what="speed changes", needs=("motions",))
def _change_in_cut(ctx: Context) -> Iterator[Finding]:
    """The speed changes, or the spindle stops, while the cutter is in the material.

    Flags: an S word or a spindle stop between two cuts without a retract in between, at rapid or at feed.
    Why: while the spindle changes speed the chip is not the planned one; stopping in the material grips.
    Wrong: ``G1 X20 / S12000 / G1 X40`` at depth.
    Right: retract, change the speed, wait, go back in.
    Limits of the rule: a controller that waits for the speed still stands in the material meanwhile.
    Source: common practice, no source.
    """
    facts = ctx.facts
    cut, speed = facts.cutting, facts.motions.spindle_rpm
    both = cut[:-1] & cut[1:] & np.isfinite(speed[:-1])
    rows = np.flatnonzero(both & (speed[:-1] != speed[1:])) + 1
    if len(rows) and not by_hand(ctx):
        row = int(rows[0])
        yield ctx.say.finding(
            "SPIN-09",
            Severity.WARNING,
            f"the speed changes from S{speed[row - 1]:.0f} to S{speed[row]:.0f} inside the cut",
            rows=rows,
            worst=row,
            word="S",
            action="retract before the change and give the spindle time",
        )
    for event in ctx.say.events("spindle"):
        i = event.motion
        low = 0 < i <= facts.n and facts.feed[i - 1] and facts.inside[i - 1]
        low = low and not facts.motions.end_mm[i - 1, 2] >= _free_mm(ctx)
        inside = low and (i == facts.n or facts.feed[i] or facts.standing[i])
        if event.value == 0 and inside:
            yield ctx.say.at_event(
                "SPIN-09",
                Severity.STOP,
                "the spindle is stopped while the cutter is in the material",
                event,
                word="M",
                action="retract before M5",
            )


def _free_mm(ctx: Context) -> float:
    """Height from which the cutter is out of the material [mm]; infinite where unknown."""
    return (np.inf if ctx.facts.at_work_mm is None else ctx.facts.at_work_mm) - SURFACE_MM


@rule("SPIN-10", Severity.NOTE, "spindle left running", what="spindle at the end", needs=("motions",))
def _left_running(ctx: Context) -> Iterator[Finding]:
    """The spindle still turns when the program ends.

    Flags: no M5 after the last start; M2 and M30 stop the spindle by the standard, so only a program without
      either is flagged.
    Why: a person who reaches in after the last move meets a turning cutter.
    Wrong: ``G0 Z20`` as the last line, with no M5, M2 or M30.
    Right: ``G0 Z20 / M5 / M30``.
    Limits of the rule: some controllers keep the spindle on at M2.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.6.1: M2 and M30 stop the spindle.
    """
    events = ctx.say.events("spindle")
    if by_hand(ctx) or not events or events[-1].value == 0:
        return
    if not any(event.text.upper() != "%" for event in ctx.say.events("end")):
        yield ctx.say.at_event(
            "SPIN-10",
            Severity.NOTE,
            "the spindle is still on after the last line",
            events[-1],
            word="M",
            action="write M5 and M30 at the end",
        )


@rule("SPIN-11", Severity.STOP, "spindle not restarted after a tool change", needs=("motions",),
      what="spindle after a tool change")  # fmt: skip
def _no_restart(ctx: Context) -> Iterator[Finding]:
    """No spindle start between a tool change and the next cut.

    Flags: a cut after M6 without an M3 in between.
    Why: the spindle is stopped for the change; if nothing starts it again, the next cutter breaks.
    Wrong: ``T2 M6 / G0 Z5 / G1 Z-1``.
    Right: ``T2 M6 / M3 S18000 / G4 P4 / G0 Z5 / G1 Z-1``.
    Limits of the rule: a controller may turn the spindle on again by itself; the standard leaves it stopped.
      Where nothing runs at all, SPIN-01 speaks instead.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.6.5: the spindle is stopped by M6.
    """
    facts = ctx.facts
    if by_hand(ctx):
        return
    stopped = _stopped_by_change(ctx)
    for event in ctx.say.events("tool change"):
        cuts = np.flatnonzero(facts.cutting[event.motion :])
        if not len(cuts):
            continue
        row = event.motion + int(cuts[0])
        if stopped[row] and not any(e.motion <= row for e in _changes_after(ctx, event)):
            yield ctx.say.finding(
                "SPIN-11",
                Severity.STOP,
                f"cuts after the tool change in line {event.line} without a spindle start in between",
                rows=[row],
                action=f"write M3, S and a dwell after line {event.line}",
            )


def _changes_after(ctx: Context, event: Event) -> list[Event]:
    """Tool changes later than one."""
    return [e for e in ctx.say.events("tool change") if (e.motion, e.line) > (event.motion, event.line)]


@rule("SPIN-12", Severity.STOP, "no speed word", what="spindle speed", needs=("motions",))
def _no_speed(ctx: Context) -> Iterator[Finding]:
    """The spindle is started without any speed.

    Flags: cuts with the spindle on and no S word (or S0) so far.
    Why: the spindle stands still or turns at whatever was set last.
    Wrong: ``M3 / G1 Z-1 F100``.
    Right: ``M3 S18000 / G1 Z-1 F100``.
    Limits of the rule: a spindle set by hand needs no S word and is not flagged.
    Source: common practice, no source.
    """
    facts = ctx.facts
    if by_hand(ctx):
        return
    speed = facts.motions.spindle_rpm
    on = np.abs(facts.motions.spindle_dir) == 1
    rows = np.flatnonzero(facts.cutting & on & (np.isnan(speed) | (speed <= 0)))
    if len(rows):
        yield ctx.say.finding(
            "SPIN-12",
            Severity.STOP,
            "cuts with the spindle on but no speed (S word) set",
            rows=rows,
            action="write the speed with M3, for example M3 S18000",
        )
