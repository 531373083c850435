"""Results of the measuring procedures for a terminal."""

from __future__ import annotations

from millcalc.measure.how import BEFORE, HOW
from millcalc.measure.machine_file import Change, Written
from millcalc.measure.stiffness import StiffnessResult
from millcalc.measure.tap import Tap
from millcalc.units_show import show_number

_FIELD_WORDS = {
    "stiffness_n_um": "stiffness [N/µm]",
    "stiffness_spread": "factor either way (one standard deviation)",
    "drop_mm": "drop [mm]",
    "drop_law": "law over drop",
    "backlash_mm": "play [mm]",
    "modes": "vibration modes",
    "thrust_n": "push [N]",
    "acceleration_mm_s2": "acceleration [mm/s²]",
    "max_feed_mm_min": "highest feed [mm/min]",
    "typical": "typical",
}


def how_text(procedure: str) -> str:
    """A procedure in words.

    procedure: Key of ``HOW``.
    """
    lines = [line[4:] if line.startswith("    ") else line for line in HOW[procedure].strip("\n").split("\n")]
    return BEFORE + "\n\n" + "\n".join(lines).rstrip() + "\n"


def stiffness_lines(result: StiffnessResult) -> list[str]:
    """What the pulls say, line by line.

    result: From :func:`millcalc.measure.stiffness.stiffness_from`.
    """
    lines = ["axis  drop       frame           uncertain  scatter    up/down    readings"]
    for one in result.gives:
        gap = one.line.hysteresis_mm
        lines.append(
            f"{one.axis.upper():4}  {one.drop_mm:6.1f} mm  {one.stiffness_n_um:7.3g} N/µm  "
            f"  ±{100 * one.relative_sd:4.1f} %   {one.line.scatter_mm:.3f} mm   "
            f"{'    -   ' if gap is None else f'{gap:.3f} mm'}   {one.line.used} used, "
            f"{one.line.left_out} first pulls left out"
        )
    if result.rod_um_n or result.spindle_um_n:
        lines.append(
            f"taken off X and Y: rod {show_number(result.rod_um_n)} µm/N, "
            f"collet and spindle {show_number(result.spindle_um_n)} µm/N (from the table)"
        )
    stated = ", ".join(f"{a.upper()} {show_number(k, 3)}" for a, k in result.stiffness_n_um.items())
    lines.append(f"at drop {result.drop_mm:g} mm: {stated} N/µm, a factor of {result.spread:.2f} either way")
    softest = min(result.stiffness_n_um.values())
    lines.append(f"in words: a side force of 40 N moves the tip by {0.04 / softest:.2f} mm")
    if result.law is not None:
        law = result.law
        lines.append(
            f"over drop: {100 * law.base:.0f} % stays, {100 * law.rotary:.0f} % grows with its square, "
            f"{100 * law.bending:.0f} % with its cube; at half the drop {1 / law.ratio(0.5):.1f} times as stiff "
            f"(±{100 * law.half_sd:.0f} %), points within {100 * law.misfit:.0f} % of the law"
        )
    if result.play_mm is not None:
        lines.append(f"play between pulling and pushing: {result.play_mm:.3f} mm")
    return lines


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


def change_lines(change: Change) -> list[str]:
    """What would be written, line by line.

    change: New values.
    """
    lines = []
    for key, value in {**change.fields, **{f"spindle.{k}": v for k, v in change.spindle.items()}}.items():
        if key in ("source", "confidence", "spindle.source", "spindle.confidence", "modes"):
            continue
        name = _FIELD_WORDS.get(key, key)
        if isinstance(value, dict):
            shown = ", ".join(f"{k} {v}" for k, v in value.items() if k not in ("source", "confidence"))
        elif isinstance(value, list):
            shown = ", ".join(
                " ".join(str(v) for v in one.values()) if isinstance(one, dict) else str(one) for one in value
            )
        else:
            shown = (
                {True: "yes", False: "no"}.get(value, str(value)) if isinstance(value, bool) else str(value)
            )
        lines.append(f"{name}: {shown}")
    for row in change.fields.get("modes", []):
        lines.append(
            f"mode {row['name']} ({row['axis'].upper()}): {row['frequency_hz']:g} Hz, damping "
            f"{row['damping_ratio']:g}, {row['stiffness_n_um']:g} N/µm ({row['confidence']})"
        )
    return lines


def written_line(written: Written) -> str:
    """Where it was written.

    written: From :func:`millcalc.measure.machine_file.write_change`.
    Returns: One sentence.
    """
    kept = f"; the earlier one is {written.backup.name}" if written.backup else ""
    return f"written to {written.path}{kept}. Use it with --machine {written.path.stem}"
