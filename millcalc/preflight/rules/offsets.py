"""Work offsets and coordinate shifts: where the program believes zero to be."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, Severity, Span
from millcalc.job.setup import Setup
from millcalc.preflight.context import Context
from millcalc.preflight.registry import rule


@rule("MODE-05", Severity.WARNING, "more than one work offset", what="work offsets")
def _several_offsets(ctx: Context) -> Iterator[Finding]:
    """Motions in more than one work offset, whose distance from each other the program does not state.

    Flags: a change of work offset between motions.
    Why: every offset must be zeroed on the machine; one left over from another job displaces all after it.
    Wrong: ``G54 / G1 X10 / G55 / G1 X10`` when only G54 was zeroed.
    Right: one work offset, the one that was zeroed.
    Limits of the rule: distances between offsets that are stored in the controller are not visible in the program; the
      parts are judged as if they shared one zero.
    Source: common practice, no source.
    """
    motions = ctx.program.motions
    frames = ctx.program.frames
    met = motions.frame[motions.moves]
    changes = met[np.flatnonzero(np.diff(met, prepend=np.uint8(255)))]
    used = [f for f in dict.fromkeys(changes.tolist()) if f < len(frames)]
    names = list(dict.fromkeys(frames[f].name.split("+")[0] for f in used if frames[f].name != "machine"))
    if len(names) < 2:
        return
    second = next(f for f in used if frames[f].name.split("+")[0] == names[1])
    rows = np.flatnonzero((motions.frame == second) & motions.moves)
    unknown = any(not frames[f].known for f in used)
    yield ctx.say.finding(
        "MODE-05",
        Severity.WARNING,
        f"the program moves in {len(names)} work offsets: {', '.join(names)}"
        + ("; how far apart they lie is not in the program" if unknown else ""),
        rows=rows,
        action="make sure that each was zeroed for this job, or use one only",
    )


@rule("MODE-06", Severity.WARNING, "coordinate shift left on", what="coordinate shifts")
def _shift_left_on(ctx: Context) -> Iterator[Finding]:
    """A coordinate shift (G92, G52) is on at the end of the program.

    Flags: a G92 or G52 with axis words that is never cancelled.
    Why: the shift stays for the next program, or for a second run of this one, and displaces it.
    Wrong: ``G92 X0 Y0 / ... / M2``.
    Right: ``G92.1`` before the end, or no G92 at all.
    Limits of the rule: some controllers cancel the shift at the end of a program or at reset.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.18.
    """
    on = None
    for event in ctx.say.events("shift"):
        if event.value in (92, 52):
            on = event
        elif event.value in (92.1, 92.2):
            on = None
    if on is not None:
        yield ctx.say.at_event(
            "MODE-06",
            Severity.WARNING,
            f"G{on.value:g} shifts the coordinates and nothing cancels it before the end",
            on,
            word="G",
            action="cancel it with G92.1, or set the zero on the machine instead",
        )


@rule("MODE-08", Severity.STOP, "another work offset than the zeroed one", needs=("work_offset",),
      what="whether the program uses the work offset that was zeroed")  # fmt: skip
def _wrong_offset(ctx: Context, setup: Setup) -> Iterator[Finding]:
    """The program works in another offset than the one that was zeroed.

    Flags: motions in a work offset other than ``zero.work_offset`` of the job.
    Why: all of the program is displaced by the difference of the two offsets.
    Wrong: G55 in the program, G54 zeroed on the machine.
    Right: the same offset in both.
    Limits of the rule: a program without an offset word uses what the controller was left in; G54 is assumed.
    Source: common practice, no source.
    """
    wanted = (setup.job.zero.work_offset or "").upper()
    motions, frames = ctx.program.motions, ctx.program.frames
    wrong = [
        index
        for index, frame in enumerate(frames)
        if frame.name.split("+")[0].upper() not in (wanted, "MACHINE")
    ]
    rows = np.flatnonzero(np.isin(motions.frame, wrong) & motions.moves)
    if len(rows):
        name = frames[int(motions.frame[rows[0]])].name.split("+")[0]
        yield ctx.say.finding(
            "MODE-08",
            Severity.STOP,
            f"the program works in {name}, but {wanted} was zeroed",
            rows=rows,
            action=f"zero {name} on the machine, or write {wanted} in the program",
        )


@rule("MODE-11", Severity.WARNING, "coordinates set from where the machine stands", what="coordinate shifts")
def _shift_before_known_place(ctx: Context) -> Iterator[Finding]:
    """Coordinates are set while the position is unknown.

    Flags: a G92 with axis words before any motion: the spot where the machine stands becomes the zero.
    Why: started from another spot, the whole program is displaced by that much.
    Wrong: ``G92 X0 Y0 Z0`` as the first line.
    Right: zero set on the machine, G54 in the program.
    Limits of the rule: G92 after a motion is followed and only MODE-06 speaks about it.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.18.
    """
    events = [event for event in ctx.say.events("shift") if event.value == 92 and event.motion == 0]
    if events:
        first = events[0]
        yield Finding(
            "MODE-11",
            Severity.WARNING,
            "G92 sets the coordinates from where the machine happens to stand at start",
            "start only from the spot the program was written for, or use a zeroed work offset instead",
            spans=(Span(first.line), ctx.say.word_span(first.line, "G")),
        )
