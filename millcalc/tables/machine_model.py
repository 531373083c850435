"""Frozen model of a machine: axes, spindle, stiffness and how it falls with drop."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from millcalc.tables.values import AxisValues, Confidence, Row, Value


class PowerPoint(Row):
    """Shaft power at a speed: rpm [rev/min], power_w [W]."""

    rpm: float = Field(gt=0)
    power_w: float = Field(gt=0)


class DialMark(Row):
    """What the spindle turns at a dial mark: mark as printed, rpm [rev/min]."""

    mark: str
    rpm: float = Field(gt=0)


class Spindle(Row):
    """The spindle of a machine.

    kind: Trim router (universal motor), air-cooled or water-cooled motor, mill head.
    min_rpm, max_rpm: Speed range [rev/min].
    speed_set_by: ``program``, ``dial`` or ``fixed``.
    dial: Dial marks; empty for a spindle set by the program.
    power: Shaft power over speed, rising in rpm; linear between points [W].
    spin_up_s: Time to reach speed [s].
    runout_um: Total indicator reading at the cutter, near the collet [um].
    stiffness_n_um: Radial stiffness of collet and spindle [N/um].
    collet_nut_diameter_mm, collet_nut_length_mm, body_diameter_mm: Nose geometry [mm].
    largest_shank_mm: Largest shank the collet takes [mm].
    """

    kind: Literal["trim router", "air-cooled", "water-cooled", "mill head"]
    min_rpm: float = Field(gt=0)
    max_rpm: float = Field(gt=0)
    speed_set_by: Literal["program", "dial", "fixed"]
    dial: tuple[DialMark, ...] = ()
    power: tuple[PowerPoint, ...] = Field(min_length=1)
    power_source: str
    power_confidence: Confidence
    spin_up_s: float = Field(ge=0)
    runout_um: Value
    stiffness_n_um: Value
    collet_nut_diameter_mm: float = Field(gt=0)
    collet_nut_length_mm: float = Field(gt=0)
    body_diameter_mm: float = Field(gt=0)
    largest_shank_mm: float = Field(gt=0)
    source: str
    confidence: Confidence


class DropLaw(Row):
    """How lateral compliance grows with drop: C(h) = C0 (base + rotary (h/h0)^2 + bending (h/h0)^3).

    base, rotary, bending: Shares of the compliance at the stated drop h0; they add up to 1 [-].
    """

    base: float = Field(ge=0, le=1)
    rotary: float = Field(ge=0, le=1)
    bending: float = Field(ge=0, le=1)
    source: str
    confidence: Confidence


class Mode(Row):
    """One vibration mode at the tool: frequency_hz [Hz], damping_ratio [-], stiffness_n_um [N/um]."""

    name: str
    axis: Literal["x", "y", "z"]
    frequency_hz: float = Field(ge=1.0, le=100_000.0)
    damping_ratio: float = Field(ge=1e-4, lt=1)
    stiffness_n_um: float = Field(ge=1e-3, le=1e6)
    source: str
    confidence: Confidence


class Machine(Row):
    """A machine class, or the user's own machine.

    travel_mm: Travel of each axis [mm].
    max_feed_mm_min, max_rapid_mm_min: Highest feed and rapid of each axis [mm/min].
    acceleration_mm_s2: Acceleration of each axis [mm/s2].
    thrust_n: Push force at which the axis stalls [N].
    stiffness_n_um: Static stiffness at the tool at `drop_mm` [N/um].
    stiffness_spread: Factor by which a typical stiffness may be off, one standard deviation, log-normal
      [-].
    drop_mm: Drop at which the stiffness was stated [mm].
    drop_law: How the compliance changes with drop.
    modes: Measured or typical vibration modes at the tool.
    typical: True for a class value that the user's own numbers should replace.
    measured: Dotted names of the fields that were measured on this very machine.
    source, confidence: Behind the plain fields (drop, spread, backlash); a table file must give them.
    """

    name: str
    title: str
    aliases: tuple[str, ...] = ()
    drive: Literal["belt", "screw", "ball screw"]
    travel_mm: AxisValues
    max_feed_mm_min: AxisValues
    max_rapid_mm_min: AxisValues
    acceleration_mm_s2: AxisValues
    thrust_n: AxisValues
    spindle: Spindle
    stiffness_n_um: AxisValues
    stiffness_spread: float = Field(default=1.5, ge=1)
    drop_mm: float = Field(gt=0)
    drop_law: DropLaw
    modes: tuple[Mode, ...] = ()
    backlash_mm: float = Field(default=0.0, ge=0)
    typical: bool = True
    measured: tuple[str, ...] = ()
    source: str | None = None
    confidence: Confidence | None = None
    notes: tuple[str, ...] = ()
