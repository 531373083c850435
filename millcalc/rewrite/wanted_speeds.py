"""The S words of a corrected copy: the allowed speed nearest to each programmed one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from millcalc.mechanics.kinematics import spindle_speed_rpm
from millcalc.preflight.context import Context
from millcalc.preflight.facts import Facts
from millcalc.preflight.tuning import DIAL_TOLERANCE
from millcalc.rewrite.desk import Desk
from millcalc.rewrite.edits import apply
from millcalc.rewrite.feed_words import Listener, WordChange, speed_change
from millcalc.tables.models import Material


def with_words(desk: Desk, first: Context, data: bytes) -> Context:
    """A copy with other feeds and speeds: the same motions in the same stock, so the same simulated cut.

    desk: Reads the copy.
    first: The program as simulated.
    data: The copy.
    Returns: The copy in the set-up of the program.
    """
    return replace(first, program=desk.read(data, None))


def corrected_speeds(desk: Desk, ctx: Context) -> tuple[Context, dict[int, tuple[WordChange, str]]]:
    """Bring S words into what spindle, cutter and material allow, or to the speed that is dialled.

    desk: The program and its job.
    ctx: The program as simulated.
    Returns: The copy, and by line what changed and why.
    """
    listener = Listener()
    program = desk.read(desk.data, listener.block)
    found: dict[int, tuple[WordChange, str]] = {}
    words = [each for each in listener.said if each.s is not None]
    ends = [each.row for each in words[1:]] + [len(program.motions)]
    for each, end in zip(words, ends, strict=True):
        assert each.s is not None
        rows = np.arange(each.row, end)[program.motions.is_feed[each.row : end]]
        if not len(rows) or each.s[0] <= 0:
            continue
        speed, why = _speed_for(ctx, rows, each.s[0])
        if speed != each.s[0] and each.line not in found:
            found[each.line] = (speed_change(each, speed), why)
    if not found:
        return ctx, {}
    data = apply(program, [change.edit for change, _ in found.values()])
    return with_words(desk, ctx, data), found


def _speed_for(ctx: Context, rows: NDArray[np.intp], speed_rpm: float) -> tuple[float, str]:
    """The allowed speed nearest to a programmed one, and why it is not that one."""
    facts, setup = ctx.facts, ctx.setup
    assert setup is not None and setup.machine is not None and setup.material is not None
    if facts.speed_set_by in ("dial", "fixed"):
        dialled = facts.hand_rpm
        if dialled is None or abs(speed_rpm / dialled - 1) <= DIAL_TOLERANCE:
            return speed_rpm, ""
        return float(round(dialled)), "what is dialled"
    spindle = setup.machine.spindle
    top, why = _top_speed(facts, spindle.max_rpm, setup.material, rows)
    if speed_rpm > top * (1.02 if why.startswith("the material") else 1.0):
        if top < spindle.min_rpm:
            return spindle.min_rpm, "the spindle's lowest speed"
        return max(float(np.floor(top / 100) * 100), spindle.min_rpm), why
    if speed_rpm < spindle.min_rpm:
        return float(np.ceil(spindle.min_rpm)), "the spindle's lowest speed"
    return speed_rpm, ""


def _top_speed(
    facts: Facts, spindle_rpm: float, material: Material, rows: NDArray[np.intp]
) -> tuple[float, str]:
    """Highest speed that spindle, cutters and material allow some motions, and which of them sets it."""
    top, why = spindle_rpm, "the spindle's top speed"
    for tool in np.unique(facts.tool[rows]):
        fitted = facts.fitted(int(tool))
        if fitted is None:
            continue
        if fitted.cutter.max_rpm.value < top:
            top, why = fitted.cutter.max_rpm.value, "the cutter's highest speed"
        band = material.cutting_speed_m_min.band_for(fitted.cutter.material)
        if band is not None and facts.cutting[rows].any():
            most = float(spindle_speed_rpm(band.high, fitted.cutter.diameter_mm))
            if most < top:
                top, why = most, "the material's top cutting speed"
    return top, why
