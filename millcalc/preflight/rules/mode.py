"""Units, distance mode, work offsets, shifts and offsets: what the numbers of the program mean."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, NotChecked, Severity, Span
from millcalc.gcode.comp import COMP_FLAGS, compensated_extents
from millcalc.gcode.motions import FLAG_MODE_UNKNOWN, FLAG_UNITS_UNKNOWN
from millcalc.preflight.context import Context
from millcalc.preflight.registry import rule


@rule("MODE-01", Severity.WARNING, "no unit word before the first motion", what="units of the numbers")
def _units_unknown(ctx: Context) -> Iterator[Finding]:
    """No unit word before the first motion.

    Flags: motions before any G20 or G21; millimetres are then assumed.
    Why: what the controller was left in decides, and an inch reading makes every move 25.4 times as long.
    Wrong: ``G90 / G0 X10`` with no G21 before it.
    Right: ``G21 G90 / G0 X10``.
    Limits of the rule: a controller that always starts in millimetres would do the same without the word.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.7: unit words are modal.
    """
    motions = ctx.program.motions
    rows = np.flatnonzero(((motions.flags & FLAG_UNITS_UNKNOWN) != 0) & motions.moves)
    if len(rows):
        yield ctx.say.finding(
            "MODE-01",
            Severity.WARNING,
            "motion before any unit word; millimetres are assumed here",
            rows=rows,
            worst=int(rows[0]),
            action="write G21 (millimetres) or G20 (inches) before the first motion",
        )


@rule("MODE-02", Severity.WARNING, "units change within the program", what="change of units")
def _units_change(ctx: Context) -> Iterator[Finding]:
    """The unit word changes after the program has moved.

    Flags: a G20 after a G21 (or the reverse) once a motion has been made.
    Why: numbers written for one unit and read in the other are off by 25.4.
    Wrong: ``G21 / G1 X50 / G20 / G1 X60``.
    Right: one unit word at the top of the program.
    Limits of the rule: a change that was meant is flagged as well.
    Source: common practice, no source.
    """
    last = None
    for event in ctx.say.events("units"):
        if last is not None and event.value != last and event.motion > 0:
            yield ctx.say.at_event(
                "MODE-02",
                Severity.WARNING,
                f"units change from G{last:.0f} to G{event.value:.0f} in the middle of the program",
                event,
                word="G",
                action="use one unit throughout; check the numbers after this line",
            )
        last = event.value


@rule("MODE-03", Severity.WARNING, "no distance mode before the first motion", what="absolute or incremental")
def _distance_mode_unknown(ctx: Context) -> Iterator[Finding]:
    """No distance mode before the first motion.

    Flags: motions before any G90 or G91; absolute is then assumed. A warning where the program goes on to use G91,
      else a note: many programs count on the controller's start in absolute mode.
    Why: left in incremental mode by an earlier program, every move adds to the last and walks off the part.
    Wrong: ``G21 / G0 X10 Y10``.
    Right: ``G21 G90 / G0 X10 Y10``.
    Limits of the rule: a controller that always starts in absolute mode would do the same without the word.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.15: distance mode is modal.
    """
    motions = ctx.program.motions
    rows = np.flatnonzero(((motions.flags & FLAG_MODE_UNKNOWN) != 0) & motions.moves)
    if len(rows):
        yield ctx.say.finding(
            "MODE-03",
            Severity.WARNING if "G91" in ctx.program.modes_seen else Severity.NOTE,
            "motion before G90 or G91; absolute is assumed here",
            rows=rows,
            action="write G90 before the first motion",
        )


@rule("MODE-04", Severity.WARNING, "program ends in incremental mode", what="mode left for the next program")
def _ends_incremental(ctx: Context) -> Iterator[Finding]:
    """The program ends in incremental mode.

    Flags: the last distance-mode word is G91.
    Why: a next program without its own G90 walks off from where this one stopped.
    Wrong: ``G91 / G1 Z-1 / M2`` with no G90 after it.
    Right: ``G91 / G1 Z-1 / G90 / M2``.
    Limits of the rule: some controllers go back to absolute at M2 or M30 by themselves.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.6.1, lists what M2 resets.
    """
    left = ctx.say.left_at("distance mode", 91)
    if left is not None:
        fact, action = "the program ends in incremental mode (G91)", "write G90 before the end of the program"
        yield ctx.say.at_event("MODE-04", Severity.WARNING, fact, left, word="G", action=action)


@rule("MODE-07", Severity.STOP, "tool length offset", what="tool length offsets", needs=("motions",))
def _length_offset(ctx: Context) -> Iterator[Finding]:
    """A tool length offset that the controller may not have.

    Flags: G43 or G43.1: a stop where the job says the controller has no tool length offsets, a note where nothing
      is known; many a program is written for a controller that has them.
    Why: an ignored offset, or one from another cutter's table entry, puts every depth off by a constant.
    Wrong: ``G43 H2`` on a controller without a tool table.
    Right: no G43, and Z zeroed again after each change of cutter.
    Limits of the rule: the length in the controller's table cannot be seen; heights are judged as if it were right.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.11.
    """
    events = [event for event in ctx.say.events("length offset") if event.value in (43, 43.1)]
    able = ctx.setup.job.controller.tool_length_offsets if ctx.setup else None
    if events and not able:
        yield ctx.say.at_event(
            "MODE-07",
            Severity.NOTE if able is None else Severity.STOP,
            f"G{events[0].value:g} applies a tool length offset"
            + (", which this controller does not have" if able is False else ""),
            events[0],
            word="G",
            action="take it out and zero Z with the cutter that is fitted"
            if able is False
            else "make sure that the controller has a tool table and that its entry is right, "
            "or take the word out",
            count=len(events),
        )


@rule("MODE-09", Severity.NOTE, "overrides switched off", what="whether the hand knobs work")
def _overrides_off(ctx: Context) -> Iterator[Finding]:
    """The program switches the feed and speed knobs off.

    Flags: M49 without a later M48.
    Why: the feed knob is the first thing a person reaches for when the sound is wrong.
    Wrong: ``M49`` at the top of the program.
    Right: no M49, or M48 right after the passage that needs it.
    Limits of the rule: none known.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.6.7.
    """
    left = ctx.say.left_at("override", 49)
    if left is not None:
        fact = "M49 switches the feed and speed overrides off for the rest of the program"
        action = "take M49 out, so that the feed knob works"
        yield ctx.say.at_event("MODE-09", Severity.NOTE, fact, left, word="M", action=action)


@rule("MODE-10", Severity.STOP, "feed per revolution with a spindle set by hand", needs=("motions",),
      what="feed per revolution")  # fmt: skip
def _feed_per_turn_by_hand(ctx: Context) -> Iterator[Finding]:
    """Feed per revolution where the controller does not know the speed.

    Flags: feed motions in G95 while the spindle's speed is dialled by hand or fixed.
    Why: the controller multiplies by an S word or by zero, not by the speed that really turns.
    Wrong: ``G95 G1 X50 F0.03`` with a hand-dialled motor.
    Right: ``G94 G1 X50 F540``.
    Limits of the rule: only feed motions in G95 are looked at.
    Source: common practice, no source.
    """
    facts = ctx.facts
    rows = np.flatnonzero(facts.feed & (facts.motions.feed_mode == 95))
    if len(rows) and facts.speed_set_by in ("dial", "fixed"):
        yield ctx.say.finding(
            "MODE-10",
            Severity.STOP,
            f"G95 (feed per revolution) with a spindle that is set by hand ({facts.speed_set_by})",
            rows=rows,
            word="F",
            action="write the feed in mm/min (G94)",
        )


@rule("MODE-12", Severity.NOTE, "no word that ends the program", needs=("motions",), what="the program's end")
def _no_end_word(ctx: Context) -> Iterator[Finding]:
    """The file stops without M2, M30 or a closing percent line.

    Flags: a program that was read to its end and has no word that ends it.
    Why: it may be cut off, and nothing switches spindle and coolant off or resets the modes.
    Wrong: ``... / G0 Z5`` as the last line.
    Right: ``... / G0 Z5 / M5 / M30``.
    Limits of the rule: a file that breaks off within a line is reported by TEXT-20 instead.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.1.
    """
    program = ctx.program
    told = any(finding.code == "TEXT-20" for finding in program.findings)
    if program.complete and not told and not ctx.say.events("end"):
        yield Finding(
            "MODE-12",
            Severity.NOTE,
            "the file ends without M2 or M30",
            "look whether it is whole; end it with M5 and M30",
            spans=(Span(program.lines),),
        )


@rule("MODE-13", Severity.WARNING, "path moved aside by cutter compensation", needs=("motions",),
      what="the path under cutter compensation")  # fmt: skip
def _compensated(ctx: Context) -> Iterator[Finding | NotChecked]:
    """The controller moves the cutter aside; what is judged is the path as written.

    Flags: motions under G41 or G42, with how far the cutter's centre reaches when it is moved by its radius.
    Why: the cutter runs a radius beside the line that distances, depths and the simulated cut are taken from.
    Wrong: an outline under G41 that passes a screw by less than a diameter.
    Right: the path of the cutter's centre written out, under G40.
    Limits of the rule: the moved path is neither simulated nor held against screws; inside corners are not trimmed.
    Source: NIST RS274/NGC Interpreter version 3 (2000), appendix B.
    """
    motions, facts = ctx.program.motions, ctx.facts
    rows = np.flatnonzero(((motions.flags & COMP_FLAGS) != 0) & motions.moves)
    if not len(rows):
        return
    reach = ""
    radius = facts.diameter_mm / 2
    if np.isfinite(radius[rows]).any():
        low, high = compensated_extents(motions, np.nan_to_num(radius))
        with np.errstate(invalid="ignore"):
            ends = np.fmin.reduce(low[rows]), np.fmax.reduce(high[rows])
        say = ctx.say.mm
        reach = (
            f"; moved by {say(float(np.nanmax(radius[rows])))} its centre reaches X {say(ends[0][0])} to "
            f"{say(ends[1][0])}, Y {say(ends[0][1])} to {say(ends[1][1])}"
        )
    yield ctx.say.finding(
        "MODE-13",
        Severity.WARNING,
        f"the controller moves the cutter beside the path that is judged here{reach}",
        rows=rows,
        word="G",
        action="write the path of the cutter's centre under G40, or look at screws and clamps along this path yourself",
    )
    yield NotChecked(
        "MODE-13",
        f"distances, depths and loose pieces along {len(rows)} motions",
        "the path moved aside by G41 or G42 is not simulated",
    )


@rule(
    "MODE-17",
    Severity.WARNING,
    "full circle standing upright",
    needs=("motions",),
    what="planes of full circles",
)
def _upright(ctx: Context) -> Iterator[Finding]:
    """A full circle in the plane XZ or YZ.

    Flags: arcs of a whole turn in G18 or G19.
    Why: the cutter dives a diameter below the height it started from; a plane word left over does that.
    Wrong: ``G18 / G2 X50 I-8`` for a circle seen from above.
    Right: ``G17 / G2 X50 I-8``.
    Limits of the rule: arcs of less than a turn are ordinary in these planes and are not judged.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.3: the plane word is modal.
    """
    motions = ctx.program.motions
    whole = np.abs(motions.sweep_rad) > 2 * np.pi - 0.01
    rows = np.flatnonzero(motions.is_arc & (motions.plane != 17) & whole)
    if len(rows):
        word = ctx.say.last_event("plane", int(rows[0]))
        yield ctx.say.finding(
            "MODE-17",
            Severity.WARNING,
            f"a full circle in G{int(motions.plane[rows[0]])}, standing upright",
            rows=rows,
            at=ctx.say.word_span(word.line, "G") if word else None,
            action="write G17 before it, unless an upright circle is meant",
        )
