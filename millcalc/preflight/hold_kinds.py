"""What each kind of hold bears: tape, vacuum, vice, side clamps, screws through waste; in one place for all who ask."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from millcalc.job.models import Hold, Job
from millcalc.mechanics.holddown import (
    friction_hold_n,
    screw_withdrawal_n,
    shear_hold_n,
    turning_hold_n_mm,
    vacuum_pull_n,
)
from millcalc.preflight import tuning
from millcalc.units import MM_PER_INCH, System, force_n, show_force, stress_n_mm2

JOINS = ("tabs", "onion skin")  # they hold the part in its waste, not the waste on the bed
PRESSED = ("vice", "side clamps")
FLAT = ("tape", "vacuum")  # they hold each piece that lies on them


@dataclass(frozen=True, slots=True)
class Strength:
    """What one hold bears, its safety factor taken off.

    side_n, lift_n: Force along the table and lift, each alone [N].
    turning_n_mm: Moment about the upright axis; 0 where it is not known [N mm].
    area_mm2: Area of tape or vacuum; 0 for others [mm2].
    estimates: Estimates that are in it, in words.
    """

    side_n: float
    lift_n: float
    turning_n_mm: float
    area_mm2: float
    estimates: tuple[str, ...] = ()


def screw_bears_n(density_kg_m3: float, shank_mm: float, thread_mm: float, safety: float) -> float:
    """Pull that one screw bears in a board, its safety factor taken off.

    density_kg_m3: Density of the board [kg/m3].
    shank_mm, thread_mm: Diameter, and length of the thread in the board [mm].
    safety: Safety factor on the ultimate withdrawal [-].
    Returns: Pull [N].

    Note: The board is taken as a panel, which holds a share (estimate) of what solid wood of its density
      does.

    Source: Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-282, chapter 8 (from memory).
    """
    gravity = min(density_kg_m3 / 1000.0 / 1.12, 1.3)  # oven-dry weight on volume at 12 % moisture
    ultimate = screw_withdrawal_n(gravity, shank_mm, thread_mm, tuning.PANEL_WITHDRAWAL_SHARE)
    return float(np.asarray(ultimate)) / safety


def strength(hold: Hold, job: Job) -> Strength:
    """What a hold bears.

    hold: A hold of which no field is lacking; neither tabs nor skin nor unknown.
    job: Gives the density of the board.
    Returns: Its strength.
    Raises ValueError: For a kind that holds nothing on the bed, or screws in a board of unknown density.

    Note: Vacuum holds the lift by its pull and the side force by friction under it. Jaws hold both by
      friction on two faces. Tape holds by shear, and a share of it when pulled up.
    """
    safety, mu = tuning.HOLD_SAFETY, hold.friction or tuning.PRESSED_FRICTION
    guesses: tuple[str, ...] = () if hold.friction else (f"friction {mu:g}",)
    area = hold.area_mm2 or 0.0
    if hold.kind == "tape":
        tau = hold.shear_n_mm2 or tuning.TAPE_SHEAR_N_MM2
        side = float(np.asarray(shear_hold_n(area, tau))) / safety
        guesses = () if hold.shear_n_mm2 else (f"shear strength of the tape {1000 * tau:g} kPa",)
        guesses += (f"pulled up it bears {tuning.TAPE_LIFT_SHARE:g} of that",)
        lift = side * tuning.TAPE_LIFT_SHARE
    elif hold.kind == "vacuum":
        lift = float(np.asarray(vacuum_pull_n(area, given(hold.pressure_n_mm2)))) / safety
        side = float(np.asarray(friction_hold_n(lift, mu)))
    elif hold.kind in PRESSED:
        side = lift = float(np.asarray(friction_hold_n(given(hold.force_n), mu, 2.0))) / safety
    elif hold.kind == "waste screws" and job.bed.wood_density_kg_m3 is not None:
        each = screw_bears_n(
            job.bed.wood_density_kg_m3,
            given(hold.shank_diameter_mm),
            given(hold.depth_in_bed_mm),
            tuning.WITHDRAWAL_SAFETY,
        )
        lift = each * given(hold.count)
        side = float(np.asarray(friction_hold_n(lift, tuning.HOLD_FRICTION)))
        guesses = (
            f"friction {tuning.HOLD_FRICTION:g}",
            f"a board holds {tuning.PANEL_WITHDRAWAL_SHARE:g} of solid wood",
        )
    else:
        raise ValueError(f"{hold.kind} bears nothing that is known")
    turning = float(np.asarray(turning_hold_n_mm(side, area))) if area else 0.0
    return Strength(side, lift, turning, area, guesses)


def given(value: float | None) -> float:
    """A number that is not lacking.

    value: Field of a hold (any unit).
    Returns: The same.
    Raises ValueError: Where it is lacking after all.
    """
    if value is None:
        raise ValueError("a field of this hold is lacking")
    return value


def _area(area_mm2: float, units: System) -> str:
    return f"{area_mm2 / 100:.4g} cm2" if units == "mm" else f"{area_mm2 / MM_PER_INCH**2:.4g} in2"


def _pressure(pressure_n_mm2: float, units: System) -> str:
    psi = pressure_n_mm2 / stress_n_mm2("1 psi")
    return f"{1000 * pressure_n_mm2:.4g} kPa" if units == "mm" else f"{psi:.3g} psi"


def hold_words(hold: Hold, units: System = "mm") -> str:
    """A hold and its numbers as a person reads them.

    hold: The hold.
    units: ``mm`` shows cm2 and kPa, ``in`` shows in2 and psi.
    Returns: Such as ``vacuum, 200 cm2 at 70 kPa``.

    >>> hold_words(Hold(kind="vacuum", area_mm2=20_000, pressure_n_mm2=0.07))
    'vacuum, 200 cm2 at 70 kPa'
    """
    if hold.kind == "unknown":
        return "held in a way nobody told"
    name: str = hold.kind
    if hold.kind in ("waste screws", "tabs"):
        several = "" if hold.count == 1 else "s"
        name = f"screw{several} through the waste" if hold.kind == "waste screws" else f"tab{several}"
        return name if hold.count is None else f"{hold.count} {name}"
    pressure = hold.shear_n_mm2 or hold.pressure_n_mm2
    how = "" if hold.area_mm2 is None else f", {_area(hold.area_mm2, units)}"
    how += "" if pressure is None else f" at {_pressure(pressure, units)}"
    how += "" if hold.force_n is None else f", pressing with {show_force(hold.force_n, units)}"
    return name + how


def grown(hold: Hold, share: float, units: System = "mm") -> tuple[Hold, str] | None:
    """A hold made stronger by a factor, rounded up to what a person would set.

    hold: A hold of which no field is lacking.
    share: How many times as strong [-].
    units: Units of the edit in words.
    Returns: The new hold and the edit in words; None where it cannot be made as strong.
    """
    if hold.kind in FLAT and hold.area_mm2 is not None:
        step = 100.0 if units == "mm" else MM_PER_INCH**2
        area = step * math.ceil(hold.area_mm2 * share / step - 1e-9)
        return hold.model_copy(update={"area_mm2": area}), f"{_area(area, units)} of {hold.kind}"
    if hold.kind in PRESSED and hold.force_n is not None:
        step = 50.0 if units == "mm" else force_n("10 lbf")
        force = step * math.ceil(hold.force_n * share / step - 1e-9)
        name = "the vice" if hold.kind == "vice" else "the side clamps"
        shown = f"{force:.0f} N" if units == "mm" else f"{force / force_n('1 lbf'):.0f} lbf"
        return hold.model_copy(update={"force_n": force}), f"press {name} with {shown}"
    if hold.kind == "waste screws" and hold.count is not None:
        count = math.ceil(hold.count * share - 1e-9)
        return hold.model_copy(update={"count": count}), f"{count} screws through the waste"
    return None
