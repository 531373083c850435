"""Run-out, spindle speed and axis push from simple readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from millcalc.errors import InputError
from millcalc.measure import tuning
from millcalc.measure.tones import near_mains

_SPEED_BELIEVED = (50.0, 80_000.0)


@dataclass(frozen=True, slots=True)
class Runout:
    """Run-out, total indicator reading: value and its bounds [mm]."""

    value_mm: float
    low_mm: float
    high_mm: float
    how: str
    doubts: tuple[str, ...] = ()


def runout_from_dial(readings_mm: Sequence[Sequence[float]]) -> Runout:
    """Run-out from dial readings while the spindle is turned by hand.

    readings_mm: For each fitting of the pin the readings over one turn, at least four [mm].
    Returns: Median of largest less smallest over the fittings, with the least and the greatest.
    Raises InputError: With too few readings, or a run-out no cutter can be run with.
    """
    if not readings_mm or any(len(turn) < 2 for turn in readings_mm):
        raise InputError(
            "fewer than two readings in a turn",
            "largest and smallest reading of a turn, better four readings at quarter turns",
            field="--dial",
        )
    each = [max(turn) - min(turn) for turn in readings_mm]
    value = float(np.median(each))
    _believe_runout(value)
    doubts = ("fitted once only: take the pin out, turn it by a quarter and repeat",) if len(each) < 2 else ()
    step = tuning.DIAL_RESOLUTION_MM / 2
    times = "once" if len(each) == 1 else f"{len(each)} times"
    return Runout(value, max(min(each) - step, 0.0), max(each) + step, f"dial, pin fitted {times}", doubts)


def runout_from_slots(widths_mm: Sequence[float], flutes: int, diameter_mm: float | None = None) -> Runout:
    """Run-out from the width of light slots in board or plastic.

    widths_mm: Widths; with one flute four slots, the cutter turned by a quarter in the collet between them
      [mm].
    flutes: Cutting edges [-].
    diameter_mm: Measured diameter, needed with two or more flutes [mm].
    Returns: Estimate with bounds.
    Raises InputError: With too few or impossible widths.

    Note: One flute: the slot is 2 (R + e cos a) wide, e the offset and a its angle to the edge; four
      quarter turns show between 0.71 and 1 times the run-out 2 e as half the difference. Two flutes: the
      width exceeds the diameter by between 0 and the run-out, so this is a lower bound.
    """
    widths = np.asarray(widths_mm, float)
    if widths.size < 1 or not np.all(np.isfinite(widths)) or np.any(widths <= 0):
        raise InputError("slot widths that are not lengths", "widths greater than 0", field="--slot")
    if flutes == 1:
        if widths.size < 4:
            raise InputError(
                f"{widths.size} slots",
                "four slots, the cutter turned by a quarter in the collet each time",
                "with one flute the width alone tells nothing: the flute's own radius is unknown",
                field="--slot",
            )
        half = float(widths.max() - widths.min()) / 2.0
        low, high = tuning.SLOT_RUNOUT_SHARE
        _believe_runout(half)
        return Runout(half / np.sqrt(low * high), half / high, half / low, "four slots, one flute")
    if diameter_mm is None:
        raise InputError(
            "no diameter", "the cutter's measured diameter", "give --diameter", field="--diameter"
        )
    wide = float(np.median(widths)) - diameter_mm
    if wide < -0.02:
        raise InputError(
            f"slots {-wide:.3f} mm narrower than the cutter",
            "widths at or above the diameter",
            "measure diameter and slots again; in soft material slots close up",
            field="--slot",
        )
    wide = max(wide, 0.0)
    _believe_runout(wide)
    doubt = "two or more flutes: the slot shows at least this much, the run-out may be larger"
    return Runout(wide, wide, 2.0 * wide + 0.01, "slot width", (doubt,))


def _believe_runout(value_mm: float) -> None:
    if value_mm > 0.5:
        raise InputError(
            f"a run-out of {value_mm:.3f} mm",
            "at most 0.5 mm",
            "check the readings; with so much run-out do not run this cutter: clean collet and shank first",
            field="runout",
        )


@dataclass(frozen=True, slots=True)
class SpeedPoint:
    """Spindle speed at a dial mark [rev/min], how it was found, and doubts."""

    mark: str
    rpm: float
    how: str
    doubts: tuple[str, ...] = ()


def speed_from_tone(mark: str, tone_hz: float, per_turn: float = 1.0) -> SpeedPoint:
    """Speed from the pitch of its sound.

    mark: Dial mark.
    tone_hz: Pitch, or distance between neighbouring peaks of the spectrum [Hz].
    per_turn: How often that sound comes in a turn: 1 for imbalance, the number of flutes while cutting [-].
    Returns: Speed [rev/min].
    Raises InputError: If pitch or count are impossible.

    >>> speed_from_tone("3", 300.0).rpm
    18000.0
    """
    if not (np.isfinite(tone_hz) and tone_hz > 0) or not per_turn > 0:
        raise InputError(f"{tone_hz:g} Hz", "a pitch greater than 0", field=f"--tone {mark}")
    hum = f"{tone_hz:g} Hz is near the hum of the mains: be sure it is the spindle"
    return _point(mark, 60.0 * tone_hz / per_turn, "pitch", (hum,) if near_mains(tone_hz) else ())


def speed_from_marks(
    mark: str, feed_mm_min: float, spacing_mm: float, count: int = 1, per_turn: float = 1.0
) -> SpeedPoint:
    """Speed from the spacing of feed marks: n = F / spacing.

    mark: Dial mark.
    feed_mm_min: Real feed [mm/min].
    spacing_mm: Length of `count` marks [mm].
    count: Number of marks in that length [-].
    per_turn: Marks in a turn: 1 where run-out dominates [-].
    Returns: Speed [rev/min].
    Raises InputError: If a number is impossible.

    >>> speed_from_marks("2", 3000.0, 5.0, 20).rpm
    12000.0
    """
    if not (feed_mm_min > 0 and spacing_mm > 0 and count > 0 and per_turn > 0):
        raise InputError(
            "a mark, feed or count that is not above 0", "numbers above 0", field=f"--marks {mark}"
        )
    return _point(mark, feed_mm_min * count / (spacing_mm * per_turn), "feed marks", ())


def speed_counted(mark: str, rpm: float) -> SpeedPoint:
    """Speed read from a counter.

    mark: Dial mark.
    rpm: Reading [rev/min].
    Returns: Speed [rev/min].
    Raises InputError: If the reading is impossible.
    """
    return _point(mark, rpm, "counter", ())


def _point(mark: str, rpm: float, how: str, doubts: tuple[str, ...]) -> SpeedPoint:
    low, high = _SPEED_BELIEVED
    if not (np.isfinite(rpm) and low <= rpm <= high):
        raise InputError(
            f"{rpm:.0f} rev/min at mark {mark}",
            f"{low:.0f} to {high:.0f} rev/min",
            "check the pitch or spacing, and how many times it comes in a turn",
            field=how,
        )
    return SpeedPoint(mark, round(rpm / 50.0) * 50.0 if rpm > 2000 else round(rpm), how, doubts)


def dial_table(points: Sequence[SpeedPoint]) -> tuple[SpeedPoint, ...]:
    """Speeds of the marks in order, each once.

    points: Measured points; several of one mark give their median.
    Returns: Rising speed.
    Raises InputError: When one mark was found at speeds more than 10 % apart, or a higher mark turns
      slower.
    """
    by_mark: dict[str, list[SpeedPoint]] = {}
    for point in points:
        by_mark.setdefault(point.mark, []).append(point)
    table = []
    for mark, own in by_mark.items():
        speeds = [point.rpm for point in own]
        if max(speeds) > 1.1 * min(speeds):
            raise InputError(
                " and ".join(f"{speed:.0f}" for speed in speeds) + f" rev/min at mark {mark}",
                "readings of one mark within 10 %",
                "one of them is a multiple: count how often the sound or mark comes in a turn",
                field=f"mark {mark}",
            )
        table.append(SpeedPoint(mark, float(np.median(speeds)), own[0].how, own[0].doubts))
    table.sort(key=lambda point: point.rpm)
    numbers = [_as_number(point.mark) for point in table]
    known = [number for number in numbers if number is not None]
    if len(known) == len(table) and known != sorted(known):
        listed = ", ".join(f"{p.mark}: {p.rpm:.0f}" for p in table)
        raise InputError(listed, "speeds that rise with the mark", "measure the odd one again", field="dial")
    return tuple(table)


def _as_number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if np.isfinite(number) else None


def droop(idle_rpm: float, cutting_rpm: float) -> tuple[float, str]:
    """How far the speed falls in the cut, and what that means.

    idle_rpm, cutting_rpm: Speed without and with load [rev/min].
    Returns: Share [-], and a sentence.
    Raises InputError: If a speed is not above 0.
    """
    if not (idle_rpm > 0 and cutting_rpm > 0):
        raise InputError("a speed that is not above 0", "speeds above 0", field="--cutting")
    share = (idle_rpm - cutting_rpm) / idle_rpm
    if share < -0.02:
        return share, "faster in the cut than idle: one of the two pitches is a multiple"
    if share > 0.10:
        return share, "more than 10 %: the cut is too heavy for this spindle, change the settings"
    if share > 0.05:
        return share, "5 to 10 %: at the limit of this spindle"
    return share, "within 5 %: the spindle carries this cut"


@dataclass(frozen=True, slots=True)
class Push:
    """Push at which an axis stalls: the weakest of the pulls [N], and its spread as a share [-]."""

    axis: str
    thrust_n: float
    spread: float
    doubts: tuple[str, ...]


def push_from_pulls(axis: str, pulls_n: Sequence[float]) -> Push:
    """Push of an axis from pulls at which it stalled.

    axis: ``x``, ``y`` or ``z``.
    pulls_n: Force at each stall [N].
    Returns: The smallest counts: steps are lost at the first stall.
    Raises InputError: Without pulls, or with impossible ones.
    """
    pulls = np.asarray(pulls_n, float)
    if pulls.size == 0 or not np.all(np.isfinite(pulls)) or np.any(pulls <= 0):
        raise InputError("no usable pull", "forces above 0, better three", field=f"--{axis}")
    if np.any(pulls > 5000):
        raise InputError(f"{pulls.max():.0f} N", "at most 5000 N", "check the unit", field=f"--{axis}")
    spread = float(np.std(pulls, ddof=1) / np.mean(pulls)) if pulls.size > 1 else 0.0
    doubts = []
    if pulls.size < 3:
        counted = "one pull" if pulls.size == 1 else "two pulls"
        doubts.append(f"{axis.upper()}: {counted} only; three show whether they agree")
    if spread > 0.15:
        doubts.append(f"{axis.upper()}: pulls differ by {100 * spread:.0f} %; the smallest is taken")
    return Push(axis, float(pulls.min()), spread, tuple(doubts))
