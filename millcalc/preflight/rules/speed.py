"""The speed of the spindle: what machine, cutter and material allow, and what a dial really gives."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, NotChecked, Severity, Span
from millcalc.limits.entries import DRILLS
from millcalc.limits.speeds import first_speed_m_min
from millcalc.limits.tooling import ROUNDED_ENDS
from millcalc.mechanics.kinematics import cutting_speed_m_min, spindle_speed_rpm
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.feed_words import speed_edit
from millcalc.preflight.limits import tooling
from millcalc.preflight.registry import rule
from millcalc.preflight.rules.spindle import by_hand
from millcalc.tables.drilling import drilling_of
from millcalc.tables.models import Band, Machine, Material, Spindle

RUINOUS_SPEED = (
    2.0  # times the top of the band; metal takes the edge, and in a hole the wall melts or burns onto it
)


@rule("SPIN-02", Severity.STOP, "speed outside the machine's range", needs=("machine", "motions"),
      what="spindle speed against the machine's range")  # fmt: skip
def _outside_range(ctx: Context, machine: Machine) -> Iterator[Finding]:
    """The S word lies outside what the spindle can do.

    Flags: S above the spindle's highest or below its lowest speed, while the program sets the speed.
    Why: the spindle runs at another speed than planned, so every chip is thicker or thinner than planned.
    Wrong: ``S30000`` on a spindle that ends at 24 000.
    Right: a speed within the range, and the feed that goes with it.
    Limits of the rule: the range is that of the machine table; a spindle set by hand is judged by SPIN-07.
    Source: the machine table of the job.
    """
    if by_hand(ctx):
        return
    spindle, facts = machine.spindle, ctx.facts
    speed = facts.motions.spindle_rpm
    for mask, limit, severity, text in (
        (speed > spindle.max_rpm, spindle.max_rpm, Severity.STOP, "above the highest"),
        ((speed < spindle.min_rpm) & (speed > 0), spindle.min_rpm, Severity.WARNING, "below the lowest"),
    ):
        rows = np.flatnonzero(mask & facts.feed)
        if not len(rows):
            continue
        worst = int(rows[np.argmax(np.abs(speed[rows] - limit))])
        yield ctx.say.finding(
            "SPIN-02",
            severity,
            f"S{speed[worst]:.0f} is {text} speed of this spindle, {ctx.say.rpm(limit)}",
            rows=rows,
            worst=worst,
            word="S",
            compared=(speed[worst], limit, "rev/min"),
            action=speed_edit(ctx, worst, float(limit), machine),
        )


@rule("SPIN-05", Severity.STOP, "speed above the cutter's limit", needs=("cutters", "motions"),
      what="spindle speed against the cutter's highest permitted speed")  # fmt: skip
def _above_cutter(ctx: Context) -> Iterator[Finding | NotChecked]:
    """The cutter turns faster than it may.

    Flags: cutting speed in rev/min above the cutter's highest permitted one (the dialled speed, where the
      spindle is set by hand).
    Why: a large or damaged cutter may come apart; the pieces fly.
    Wrong: a 22 mm facing cutter marked 18 000 at ``S24000``.
    Right: at most the speed marked on the shank.
    Limits of the rule: the limit is the table's generic one; what is marked on the cutter itself counts.
    Source: the cutter table of the job; EN 847-1 requires the mark.
    """
    facts = ctx.facts
    speed = facts.rpm
    for tool, rows, fitted in ctx.by_cutter(facts.feed):
        top = fitted.cutter.max_rpm.value
        if np.isnan(speed[rows]).all():
            yield NotChecked(
                "SPIN-05",
                f"speed limit of the cutter T{tool}",
                "the spindle speed is unknown",
                ("spindle.rpm",),
            )
            continue
        over = rows[speed[rows] > top]
        if len(over):
            worst = int(over[np.argmax(speed[over])])
            yield ctx.say.finding(
                "SPIN-05",
                Severity.STOP,
                f"T{tool} turns at {ctx.say.rpm(speed[worst])}; its limit is {ctx.say.rpm(top)}",
                rows=over,
                worst=worst,
                word="S",
                compared=(speed[worst], top, "rev/min"),
                action=f"set {ctx.edit.rpm(top)} or less, and the feed in proportion",
            )


@rule(
    "SPIN-06", Severity.STOP, "several speeds with a hand-set spindle", what="speed words", needs=("motions",)
)
def _several_speeds(ctx: Context) -> Iterator[Finding]:
    """More than one S word, while the speed is dialled by hand.

    Flags: two or more different S words used in cuts, when dial or motor decides the speed.
    Why: nobody turns the dial in the middle of the run, so part of the program cuts at a wrong chip.
    Wrong: ``S18000`` for the outline and ``S12000`` for the engraving, with one dial.
    Right: one speed a program, or one program a speed.
    Limits of the rule: a program stop between the speeds, with time to turn the dial, makes this a warning only.
    Source: common practice, no source.
    """
    facts = ctx.facts
    if not by_hand(ctx):
        return
    speed = facts.motions.spindle_rpm
    rows = np.flatnonzero(facts.feed & np.isfinite(speed) & (speed > 0))
    values = list(dict.fromkeys(speed[rows].tolist()))
    if len(values) < 2:
        return
    second = int(rows[np.argmax(speed[rows] != values[0])])
    listed = ", ".join(f"S{v:.0f}" for v in values[:4])
    listed += f" and {len(values) - 4} more" if len(values) > 4 else ""
    stops = [e.motion for e in ctx.say.events("stop")]
    first = int(rows[0])
    stopped = any(first < motion <= second for motion in stops)
    yield ctx.say.finding(
        "SPIN-06",
        Severity.WARNING if stopped else Severity.STOP,
        f"{len(values)} speeds ({listed}) with a spindle set by hand",
        rows=rows[speed[rows] != values[0]],
        word="S",
        action="split the program at the change of speed, or choose one speed and scale the feeds",
    )


@rule("SPIN-07", Severity.WARNING, "dialled speed differs from the program's", needs=("machine", "motions"),
      what="the dial against the S word")  # fmt: skip
def _dial(ctx: Context, machine: Machine) -> Iterator[Finding | NotChecked]:
    """What the dial gives is not what the program was written for.

    Flags: an S word that differs from the dialled speed by more than 10 %; says which dial mark fits.
    Why: chip load is feed over speed: a dial 1.5 times too fast makes chips too thin, which rub and weld.
    Wrong: ``S12000`` in the program and the dial at 18 000.
    Right: the dial at the mark this rule names, or the feed scaled.
    Limits of the rule: dials are known to about 10 %, and motors drop under load.
    Source: the machine table's dial marks; the 10 % is common practice, no source.
    """
    facts, spindle = ctx.facts, machine.spindle
    if not by_hand(ctx):
        return
    speed = facts.motions.spindle_rpm
    rows = np.flatnonzero(facts.feed & np.isfinite(speed) & (speed > 0))
    if facts.hand_rpm is None:
        mark = _dial_mark(ctx, spindle, float(speed[rows[0]])) if len(rows) else ""
        yield NotChecked(
            "SPIN-07",
            "chip load at the dialled speed" + (f"; {mark}" if mark else ""),
            "the dial's setting is unknown",
            ("spindle.dial_mark", "spindle.rpm"),
        )
        return
    off = rows[np.abs(speed[rows] / facts.hand_rpm - 1) > tuning.DIAL_TOLERANCE]
    if len(off):
        worst = int(off[np.argmax(np.abs(speed[off] - facts.hand_rpm))])
        scale = facts.hand_rpm / float(speed[worst])
        mark = _dial_mark(ctx, spindle, float(speed[worst]))
        yield ctx.say.finding(
            "SPIN-07",
            Severity.WARNING,
            f"the program was written for S{speed[worst]:.0f}, the dial gives {ctx.say.rpm(facts.hand_rpm)}",
            rows=off,
            worst=worst,
            word="S",
            compared=(facts.hand_rpm, float(speed[worst]), "rev/min"),
            action=(f"{mark}; or " if mark else "") + f"scale every feed by {scale:.2f}",
        )


def _dial_mark(ctx: Context, spindle: Spindle, wanted_rpm: float) -> str:
    """Which mark of the dial is nearest to a speed, in words; empty where there is no dial."""
    if not spindle.dial:
        return ""
    best = min(spindle.dial, key=lambda m: abs(m.rpm - wanted_rpm))
    return f"dial mark {best.mark} (about {ctx.say.rpm(best.rpm)}) is nearest to S{wanted_rpm:.0f}"


@rule("SPIN-08", Severity.STOP, "cutting speed outside the material's band",
      needs=("material", "cutters", "motions"), what="cutting speed against the material")  # fmt: skip
def _cutting_speed(ctx: Context, material: Material) -> Iterator[Finding]:
    """Cutting speed above or far below what the material and the cutter's own material take.

    Flags: speed at the cutter's edge above the band's top, a stop above twice that in metal and for a drill in
      anything; below half of the band's bottom, as a note. Above the speed that `millcalc settings` gives a first cut:
      a note, unless the job is marked `proven`. Drills are held against the bands for drilling.
    Why: too fast and the edge wears or the chip melts; too slow is only slow, but rubs sooner.
    Wrong: an 8 mm high-speed-steel cutter in steel at 24 000 rev/min (603 m/min).
    Right: a speed inside the band of the material table.
    Limits of the rule: taken at the full diameter; a ball or V cutter runs slower at its tip.
    Source: the material table of the job.
    """
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.cutting):
        cutter = fitted.cutter
        drills = cutter.kind in DRILLS
        band = (
            drilling_of(material).speed_m_min(cutter.material)
            if drills
            else material.cutting_speed_m_min.band_for(cutter.material)
        )
        if band is None:
            yield ctx.say.finding(
                "SPIN-08",
                Severity.WARNING,
                f"T{tool}: the material table has no cutting speed for a cutter of {cutter.material}",
                rows=rows,
                action="use a cutter material the table names for this material",
            )
            continue
        known = rows[np.isfinite(facts.rpm[rows]) & (facts.rpm[rows] > 0)]
        speed = np.asarray(cutting_speed_m_min(facts.rpm[known], cutter.diameter_mm))
        fragile = material.is_metal or drills
        ruins = fragile and bool((speed > RUINOUS_SPEED * band.high).any())
        too_fast = Severity.STOP if ruins else Severity.WARNING
        for mask, limit, severity, word in _bounds(ctx, tool, band, speed, too_fast):
            if not mask.any():
                continue
            bad, at = known[mask], int(np.argmax(np.abs(speed[mask] - limit)))
            value = float(speed[mask][at])
            rpm = float(spindle_speed_rpm(limit, cutter.diameter_mm))
            fast, shown = ctx.say.edges(value, limit)
            yield ctx.say.finding(
                "SPIN-08",
                severity,
                f"T{tool}: {fast} at the edge, {word.format(shown)}",
                rows=bad,
                worst=int(bad[at]),
                word="S",
                compared=(value, limit, "m/min"),
                source=band.source,
                action=f"{ctx.edit.rpm(rpm)} would be "
                + ("a first cut's" if band.low < limit < band.high else "at the edge of the band")
                + "; keep the chip by scaling F",
            )


def _bounds(
    ctx: Context, tool: int, band: Band, speed_m_min: NDArray[np.float64], too_fast: Severity
) -> tuple[tuple[NDArray[np.bool_], float, Severity, str], ...]:
    """Which motions are beyond each bound of the cutting speed, it [m/min], how bad that is, and words round it."""
    first, high = _first_speed_m_min(ctx, tool), ctx.say.edge(band.high)
    whole = f"the band of {ctx.say.edge(band.low).split()[0]} to {{}} for this material"
    over = speed_m_min > band.high * 1.02
    gentle = f"above the {{}} of a first cut ({whole.format(high)})"
    return (
        (over, band.high, too_fast, f"above {whole}"),
        ((speed_m_min > first * 1.002) & ~over, first, Severity.NOTE, gentle),
        (speed_m_min < band.low * 0.5, band.low, Severity.NOTE, f"far below {whole.format(high)}"),
    )


def _first_speed_m_min(ctx: Context, tool: int) -> float:
    """Cutting speed where a first cut stays [m/min]; infinite where it may use the whole band."""
    found = tooling(ctx, tool)
    if isinstance(found, str) or found.cutter.kind in (*DRILLS, *ROUNDED_ENDS):
        return np.inf
    return (None if ctx.proven else first_speed_m_min(found)) or np.inf


@rule(
    "SPIN-13", Severity.WARNING, "rim speed", needs=("cutters", "motions"), what="speed of the cutter's rim"
)
def _rim_speed(ctx: Context) -> Iterator[Finding]:
    """A large cutter whose rim is too fast.

    Flags: rim speed above 45 m/s.
    Why: beyond it, woodworking cutters are run only in guarded machines; a thrown edge goes far.
    Wrong: a 50 mm slab cutter at 24 000 rev/min (63 m/s).
    Right: 50 mm at 17 000 rev/min or less.
    Limits of the rule: a cutter marked for more may run faster.
    Source: common practice, no source (about 100 mph in woodworking advice).
    """
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.feed):
        if np.isnan(facts.rpm[rows]).all():
            continue
        top = float(np.nanmax(facts.rpm[rows]))
        rim = float(np.asarray(cutting_speed_m_min(top, fitted.cutter.diameter_mm))) / 60
        if rim > tuning.RIM_SPEED_M_S:
            worst = int(rows[np.nanargmax(facts.rpm[rows])])
            slow = top * tuning.RIM_SPEED_M_S / rim
            yield ctx.say.finding(
                "SPIN-13",
                Severity.WARNING,
                f"T{tool}: the rim runs at {rim:.0f} m/s, above {tuning.RIM_SPEED_M_S:.0f} m/s",
                rows=rows[facts.rpm[rows] > slow],
                worst=worst,
                word="S",
                compared=(rim, tuning.RIM_SPEED_M_S, "m/s"),
                action=f"turn it at {ctx.edit.rpm(slow)} or less",
            )


@rule("SPIN-14", Severity.WARNING, "dwell of a doubtful length", what="dwell times")
def _dwell_unit(ctx: Context) -> Iterator[Finding]:
    """A dwell whose number fits the other unit better.

    Flags: dwells of 100 or more, or under 0.02, as the program's unit is read.
    Why: seconds read as milliseconds skip the spindle's start-up; the reverse waits for an hour.
    Wrong: ``G4 P3000`` read as seconds: 50 minutes.
    Right: ``G4 P3`` where the controller reads seconds.
    Limits of the rule: which unit the controller reads is only known when the job says so.
    Source: common practice, no source.
    """
    facts = ctx.facts
    unit = ctx.setup.job.controller.dwell_unit if ctx.setup else None
    dwell = facts.motions.dwell_s
    rows = np.flatnonzero(facts.standing & ((dwell >= 100) | ((dwell > 0) & (dwell < 0.02))))
    if len(rows):
        worst = int(rows[0])
        seconds = float(dwell[worst])
        yield Finding(
            "SPIN-14",
            Severity.WARNING,
            f"a dwell of {seconds:g} s ({ctx.say.clock(seconds)}); in the other unit it would be "
            f"{seconds / 1000 if seconds >= 100 else seconds * 1000:g} s",
            "check in which unit your controller reads the dwell word"
            + ("" if unit else " and write controller.dwell_unit in the job"),
            spans=(
                ctx.say.word_span(int(facts.motions.line[worst]), "P"),
                Span(int(facts.motions.line[worst])),
            ),
            measured=seconds,
            unit="s",
            count=len(rows),
            last_line=int(facts.motions.line[rows[-1]]),
            motion=worst,
        )
