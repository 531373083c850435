"""Results of the measuring procedures, in sentences that terminal and page show."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from millcalc.measure.machine_file import Change, Written
from millcalc.measure.motion import Timed
from millcalc.measure.spindle import Push, Runout
from millcalc.measure.stiffness import StiffnessResult
from millcalc.measure.tap import Tap
from millcalc.units_show import MM_PER_INCH, N_PER_LBF, System, show_force, show_length, show_number

_LBF_THOU: Final = MM_PER_INCH / N_PER_LBF  # in one N/µm [lbf/thou]
# words of a field of the machine file; its unit and the inch unit, with what one of the former is of the latter
_FIELDS: Final[dict[str, tuple[str, str, str, float]]] = {
    "stiffness_n_um": ("stiffness", "N/µm", "lbf/thou", _LBF_THOU),
    "stiffness_spread": ("factor either way (one standard deviation)", "", "", 1.0),
    "drop_mm": ("drop", "mm", "in", 1 / MM_PER_INCH),
    "drop_law": ("law over drop", "", "", 1.0),
    "backlash_mm": ("play", "mm", "thou", 1000 / MM_PER_INCH),
    "modes": ("vibration modes", "", "", 1.0),
    "thrust_n": ("push", "N", "lbf", 1 / N_PER_LBF),
    "acceleration_mm_s2": ("acceleration", "mm/s²", "in/s²", 1 / MM_PER_INCH),
    "max_feed_mm_min": ("highest feed", "mm/min", "in/min", 1 / MM_PER_INCH),
    "typical": ("typical of its class", "", "", 1.0),
    "runout_um": ("run-out", "µm", "thou", 1 / MM_PER_INCH),
    "dial": ("marks of the dial", "rpm", "rpm", 1.0),
    "speed_set_by": ("speed set by", "", "", 1.0),
    "min_rpm": ("lowest speed", "rpm", "rpm", 1.0),
    "max_rpm": ("highest speed", "rpm", "rpm", 1.0),
}


def small_words(value_mm: float, units: System) -> str:
    """What a dial shows: to 0.001 mm, or 0.01 thou.

    value_mm: Length [mm].
    units: ``mm`` or ``in``.
    Returns: Number and unit.

    >>> small_words(0.0254, "mm"), small_words(0.0254, "in")
    ('0.025 mm', '1.00 thou')
    """
    return f"{value_mm:.3f} mm" if units == "mm" else f"{1000 * value_mm / MM_PER_INCH:.2f} thou"


def stiffness_words(value_n_um: float, units: System) -> str:
    """A stiffness to three digits, with its unit.

    value_n_um: Stiffness [N/um].
    units: ``mm`` or ``in``.
    """
    return f"{value_n_um:.3g} N/µm" if units == "mm" else f"{show_number(value_n_um * _LBF_THOU, 3)} lbf/thou"


def _give_words(value_um_n: float, units: System) -> str:
    """A give, the inverse of a stiffness."""
    if units == "mm":
        return f"{show_number(value_um_n)} µm/N"
    return f"{show_number(value_um_n / _LBF_THOU)} thou/lbf"


def stiffness_lines(result: StiffnessResult, units: System = "mm") -> list[str]:
    """What the pulls say, line by line.

    result: From :func:`millcalc.measure.stiffness.stiffness_from`.
    units: ``mm`` or ``in``.
    """
    lines = ["axis      drop            frame  uncertain     scatter     up/down  readings"]
    for one in result.gives:
        gap = one.line.hysteresis_mm
        drop = f"{one.drop_mm:.1f} mm" if units == "mm" else f"{one.drop_mm / MM_PER_INCH:.2f} in"
        lines.append(
            f"{one.axis.upper():4}  {drop:>8}  {stiffness_words(one.stiffness_n_um, units):>15}  "
            f"{f'±{100 * one.relative_sd:.1f} %':>9}  {small_words(one.line.scatter_mm, units):>10}  "
            f"{'-' if gap is None else small_words(gap, units):>10}  "
            f"{one.line.used} of {one.line.used + one.line.left_out}"
        )
    if any(one.line.left_out for one in result.gives):
        lines.append("readings at or below the first pull only take up the play and are left out")
    if result.rod_um_n or result.spindle_um_n:
        lines.append(
            f"taken off X and Y: rod {_give_words(result.rod_um_n, units)}, "
            f"collet and spindle {_give_words(result.spindle_um_n, units)} (from the table)"
        )
    scale, unit = (1.0, "N/µm") if units == "mm" else (_LBF_THOU, "lbf/thou")
    stated = ", ".join(f"{a.upper()} {show_number(k * scale, 3)}" for a, k in result.stiffness_n_um.items())
    drop = f"{result.drop_mm:g} mm" if units == "mm" else show_length(result.drop_mm, units)
    lines.append(f"at drop {drop}: {stated} {unit}, a factor of {result.spread:.2f} either way")
    softest = min(result.stiffness_n_um.values())
    moved = f"{0.04 / softest:.2f} mm" if units == "mm" else small_words(0.04 / softest, units)
    lines.append(f"in words: a side force of {show_force(40.0, units)} moves the tip by {moved}")
    if result.law is not None:
        law = result.law
        lines.append(
            f"over drop: {100 * law.base:.0f} % stays, {100 * law.rotary:.0f} % grows with its square, "
            f"{100 * law.bending:.0f} % with its cube; at half the drop {1 / law.ratio(0.5):.1f} times as stiff "
            f"(±{100 * law.half_sd:.0f} %), points within {100 * law.misfit:.0f} % of the law"
        )
    if result.play_mm is not None:
        lines.append(f"play between pulling and pushing: {small_words(result.play_mm, units)}")
    return lines


def runout_line(result: Runout, units: System = "mm") -> str:
    """The run-out and its bounds.

    result: From dial or slots.
    units: ``mm`` or ``in``.
    """
    value, low, high = (small_words(one, units) for one in (result.value_mm, result.low_mm, result.high_mm))
    return f"run-out {value} (between {low.split()[0]} and {high}), {result.how}"


def feed_lines(axis: str, result: Timed, asked_mm_min: float | None, units: System = "mm") -> list[str]:
    """The real feed, and how far it is from the one asked for.

    axis: ``x``, ``y`` or ``z``.
    result: From :func:`millcalc.measure.feed_time.feed_from_time`.
    asked_mm_min: Feed in the program [mm/min]; None says nothing of it.
    units: ``mm`` or ``in``.
    """

    def number(value: float) -> str:
        return f"{value:.0f}" if units == "mm" else f"{value / MM_PER_INCH:.1f}"

    lines = [f"{axis.upper()}: {number(result.value)} {units}/min (±{number(result.sd)})"]
    if asked_mm_min:
        told = abs(result.value - asked_mm_min) <= 2 * result.sd
        why = "within what the watch can tell" if told else "steps per mm, an override or a limit is wrong"
        if units == "in":
            why = why.replace("per mm", "per inch")
        off = 100 * (result.value / asked_mm_min - 1)
        lines.append(f"asked for {number(asked_mm_min)} {units}/min: {off:+.1f} %, {why}")
    return lines


def acceleration_line(axis: str, result: Timed, units: System = "mm") -> str:
    """The acceleration of an axis.

    axis: ``x``, ``y`` or ``z``.
    result: From short moves or long ones.
    units: ``mm`` or ``in``.
    """
    if units == "mm":
        return f"{axis.upper()}: {result.value:.0f} mm/s² (±{result.sd:.0f})"
    return f"{axis.upper()}: {result.value / MM_PER_INCH:.1f} in/s² (±{result.sd / MM_PER_INCH:.1f})"


def push_line(push: Push, units: System = "mm") -> str:
    """The push at which an axis stalls.

    push: From the pulls.
    units: ``mm`` or ``in``.
    """
    stalls = f"{push.axis.upper()}: stalls at "
    if units == "in":
        return f"{stalls}{push.thrust_n / N_PER_LBF:.0f} lbf"
    return f"{stalls}{push.thrust_n:.0f} N ({push.thrust_n / 9.80665:.1f} kg)"


def tap_lines(tap: Tap) -> list[str]:
    """What a tap recording says, line by line.

    tap: From :func:`millcalc.measure.tap.tap_from_signal`.
    """
    lines = [
        f"{tap.taps} taps: {tap.frequency_hz:.4g} Hz (±{tap.frequency_sd_hz:.2g} Hz)",
        f"damping ratio {tap.damping_ratio:.3f} from the decay, {tap.damping_half_power:.3f} from the peak's width",
    ]
    if tap.others_hz:
        lines.append("weaker peaks: " + ", ".join(f"{value:.0f} Hz" for value in tap.others_hz))
    return lines


def change_lines(change: Change, units: System = "mm") -> list[str]:
    """What would be written, line by line.

    change: New values.
    units: ``mm`` or ``in``: of what is shown; the file keeps its own.
    """
    lines = []
    for key, value in {**change.fields, **change.spindle}.items():
        if key in ("source", "confidence", "modes"):
            continue
        name, metric, inch, factor = _FIELDS.get(key, (key.replace("_", " "), "", "", 1.0))
        unit, scale = (metric, 1.0) if units == "mm" else (inch, factor)
        lines.append(f"{name}: {_value_words(value, scale, f' {unit}' if unit else '')}")
    for row in change.fields.get("modes", []):
        lines.append(
            f"mode {row['name']} ({row['axis'].upper()}): {row['frequency_hz']:g} Hz, damping "
            f"{row['damping_ratio']:g}, {stiffness_words(row['stiffness_n_um'], units)} ({row['confidence']})"
        )
    return lines


def _value_words(value: Any, scale: float, unit: str) -> str:
    """A value of the machine file as a person reads it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{show_number(value * scale, 4)}{unit}"
    if isinstance(value, list):
        return ", ".join(f"{one['mark']} at {show_number(one['rpm'], 5)}{unit}" for one in value)
    if not isinstance(value, Mapping):
        return str(value)
    note = f" ({value['note']})" if "note" in value else ""
    if "low" in value:
        middle, low, high = (show_number(value[k] * scale, 3) for k in ("value", "low", "high"))
        return f"{middle}{unit}, between {low} and {high}{note}"
    numbers = {k: v for k, v in value.items() if k not in ("source", "confidence", "note")}
    named = (
        f"{k.upper() if len(k) == 1 else k} {show_number(v * scale, 4)}{unit}" for k, v in numbers.items()
    )
    return ", ".join(named) + note


def written_line(written: Written) -> str:
    """Where it was written.

    written: From :func:`millcalc.measure.machine_file.write_change`.
    Returns: One sentence.
    """
    kept = f"; the earlier one is {written.backup.name}" if written.backup else ""
    return f"written to {written.path}{kept}. Use it with --machine {written.path.stem}"
