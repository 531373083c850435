"""Stiffness of the frame from pulls: series of each axis and drop, less the rod and the spindle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from millcalc.errors import InputError
from millcalc.measure import tuning
from millcalc.measure.drop import DropFit, DropPoint, fit_drop_law
from millcalc.measure.line import Line, fit_line
from millcalc.measure.readings import Run
from millcalc.mechanics.deflection import cutter_influence_um_n
from millcalc.tables.models import Machine
from millcalc.tuning import RANGE_SIGMAS
from millcalc.units_show import System, show_force, show_length


@dataclass(frozen=True, slots=True)
class AxisGive:
    """One axis at one drop.

    axis: ``x``, ``y`` or ``z``.
    drop_mm: Drop [mm].
    line: The straight line through the readings.
    frame_um_n: Give of the frame alone [um/N].
    frame_um_n_sd: Its standard uncertainty [um/N].
    """

    axis: str
    drop_mm: float
    line: Line
    frame_um_n: float
    frame_um_n_sd: float

    @property
    def stiffness_n_um(self) -> float:
        """Stiffness of the frame [N/um]."""
        return 1.0 / self.frame_um_n

    @property
    def relative_sd(self) -> float:
        """Relative standard uncertainty [-]."""
        return self.frame_um_n_sd / self.frame_um_n


@dataclass(frozen=True, slots=True)
class StiffnessResult:
    """What the pulls say about the machine.

    gives: Every axis and drop.
    drop_mm: Drop the stiffness is stated at [mm].
    stiffness_n_um: Stiffness of each measured axis at that drop [N/um].
    spread: Factor of one standard deviation [-].
    law: How the give grows with drop; None with pulls at one drop only.
    rod_um_n, spindle_um_n: What was taken off: rod and spindle [um/N].
    play_mm: Largest play seen [mm].
    doubts: What the person should know.
    """

    gives: tuple[AxisGive, ...]
    drop_mm: float
    stiffness_n_um: dict[str, float]
    spread: float
    law: DropFit | None
    rod_um_n: float
    spindle_um_n: float
    play_mm: float | None
    doubts: tuple[str, ...]


def rod_give_um_n(diameter_mm: float, stickout_mm: float, height_mm: float = 0.0) -> float:
    """Bending of a plain steel rod in the collet, pulled and read at the same height.

    diameter_mm: Diameter of the rod [mm].
    stickout_mm: From collet face to its end [mm].
    height_mm: Height of cord and dial above the end [mm].
    Returns: Give [um/N].

    >>> round(1 / rod_give_um_n(8.0, 20.0), 1)
    15.5

    Source: Cantilever L^3 / (3 E I).
    """
    return float(
        cutter_influence_um_n(
            diameter_mm,
            stickout_mm,
            diameter_mm,
            stickout_mm,
            tuning.STEEL_YOUNGS_N_MM2,
            1.0,
            height_mm,
            height_mm,
        )
    )


def stiffness_from(
    runs: tuple[Run, ...],
    machine: Machine,
    *,
    rod_um_n: float = 0.0,
    resolution_mm: float = tuning.DIAL_RESOLUTION_MM,
    units: System = "mm",
) -> StiffnessResult:
    """Turn series of pulls into the stiffness of the frame and its law over drop.

    runs: All series.
    machine: Whose spindle give is taken off, and whose drop stands in for one not given.
    rod_um_n: Give of the rod [um/N].
    resolution_mm: Step of the dial [mm].
    units: ``mm`` or ``in``, of the doubts.
    Returns: Stiffness with uncertainty; bad readings in the lines.
    Raises InputError: If readings do not make a spring, or the rest after rod and spindle is too small to
      trust.
    """
    spindle = 1.0 / machine.spindle.stiffness_n_um.value
    gives, doubts = _gives(runs, machine, rod_um_n + spindle, resolution_mm, units)
    lateral = [one for one in gives if one.axis != "z"]
    drops = sorted({one.drop_mm for one in lateral or gives})
    stated = min(drops, key=lambda drop: abs(drop - machine.drop_mm))
    law = None
    if len({one.drop_mm for one in lateral}) >= 2:
        points = tuple(DropPoint(g.axis, g.drop_mm, g.frame_um_n, g.frame_um_n_sd) for g in lateral)
        law = fit_drop_law(points, stated)
        doubts += law.doubts
    else:
        doubts.append("pulled at one drop only: how stiffness changes with the bed's height stays typical")
    stiffness = {
        axis: _stiffness_n_um(axis, gives, law, stated) for axis in dict.fromkeys(g.axis for g in gives)
    }
    missing = [axis.upper() for axis in "xyz" if axis not in stiffness]
    if missing:
        doubts.append(f"not pulled: {', '.join(missing)}; kept from the table, scaled by what was measured")
    worst = max(one.relative_sd for one in gives)
    plays = [one.line.play_mm for one in gives if one.line.play_mm is not None]
    return StiffnessResult(
        tuple(gives),
        stated,
        stiffness,
        max(float(np.exp(worst)), tuning.LEAST_MEASURED_SPREAD),
        law,
        rod_um_n,
        spindle,
        max(plays) if plays else None,
        tuple(doubts),
    )


def _gives(
    runs: tuple[Run, ...], machine: Machine, beside_um_n: float, resolution_mm: float, units: System
) -> tuple[list[AxisGive], list[str]]:
    """Give of the frame for every axis and drop, and the readings that were left out, in words."""
    grouped: dict[tuple[str, float], list[Run]] = {}
    for run in runs:
        drop = machine.drop_mm if run.drop_mm is None else run.drop_mm
        grouped.setdefault((run.axis, drop), []).append(run)
    gives, doubts = [], []
    step = 0.001 if units == "mm" else 0.00005
    for (axis, drop), series in sorted(grouped.items()):
        line = fit_line(tuple(series), resolution_mm)
        # pushing down on the nose bends neither rod nor collet
        off, off_sd = (0.0, 0.0) if axis == "z" else (beside_um_n, _spindle_sd_um_n(machine))
        _believe(line.um_n, off, axis, drop, series[0].place)
        calibration = tuning.SCALE_ERROR * line.um_n
        sd = float(np.sqrt(line.um_n_sd**2 + calibration**2 + off_sd**2))
        gives.append(AxisGive(axis, drop, line, line.um_n - off, sd))
        doubts += [
            f"{axis.upper()} at drop {show_length(drop, units)}, reading {bad.number} left out: "
            f"{show_force(bad.force_n, units)} gave {show_length(bad.dial_mm, units, step)} "
            f"where the line says {show_length(bad.expected_mm, units, step)}"
            for bad in line.bad
        ]
    return gives, doubts


def _spindle_sd_um_n(machine: Machine) -> float:
    stiffness = machine.spindle.stiffness_n_um
    spindle = 1.0 / stiffness.value
    return float(spindle * np.log(stiffness.highest / stiffness.lowest) / (2 * RANGE_SIGMAS))


def _stiffness_n_um(axis: str, gives: list[AxisGive], law: DropFit | None, stated_mm: float) -> float:
    """Stiffness of an axis at the stated drop: by the law, or as pulled nearest to it [N/um]."""
    if law is not None and axis in law.um_n:
        return 1.0 / law.um_n[axis]
    own = [one for one in gives if one.axis == axis]
    return min(own, key=lambda one: abs(one.drop_mm - stated_mm)).stiffness_n_um


def _believe(total_um_n: float, off_um_n: float, axis: str, drop_mm: float, place: str) -> None:
    low, high = tuning.STIFFNESS_BELIEVED_N_UM
    if not low <= 1.0 / total_um_n <= high:
        raise InputError(
            f"{1.0 / total_um_n:.3g} N/um on {axis.upper()} at drop {drop_mm:g} mm",
            f"{low:g} to {high:g} N/um",
            "check the units of scale (kg, N, lbf) and dial (mm, um, thou)",
            field=place,
        )
    if off_um_n > tuning.MOST_NOT_FRAME * total_um_n:
        raise InputError(
            f"{total_um_n:.3g} um/N in all, of which rod and spindle should take {off_um_n:.3g} um/N",
            "a rod thick and short enough that most of the give is the frame's",
            "use an 8 mm rod with 20 mm stickout, and check --rod and the spindle's stiffness in the table",
            field=place,
        )
