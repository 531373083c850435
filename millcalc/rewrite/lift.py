"""An air-cut copy: every height the program commands raised by the same amount."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from millcalc.errors import InputError, ManyErrors, ProgramError
from millcalc.gcode.machine import Machine
from millcalc.gcode.modal import (
    CYCLES,
    GROUP_ARC_DISTANCE,
    GROUP_DISTANCE,
    GROUP_LENGTH,
    GROUP_PLANE,
    GROUP_UNITS,
    PROBES,
)
from millcalc.gcode.program import Program
from millcalc.gcode.request import Request
from millcalc.gcode.state import ARC_ABSOLUTE, INCREMENTAL, PLANE, UNIT
from millcalc.gcode.words import Block
from millcalc.rewrite import tuning
from millcalc.rewrite.desk import Desk, refuse_unreadable
from millcalc.rewrite.edits import Edit, apply, is_literal, raised
from millcalc.rewrite.heights import Heights, heights
from millcalc.rewrite.lift_compare import compare_raised

INCH = Decimal("25.4")


@dataclass(frozen=True)
class Lifted:
    """A raised copy.

    data: The copy.
    height_mm: By how much it was raised [mm].
    edits: The words that were changed.
    motions: Motions that were compared [-].
    heights: Lowest and highest points, and what they were held against.
    notes: What the person should know.
    """

    data: bytes
    height_mm: float
    edits: tuple[Edit, ...]
    motions: int
    heights: Heights
    notes: tuple[str, ...]


def lift(desk: Desk, by_mm: float | None = None) -> Lifted:
    """Raise a program so that it runs in the air.

    desk: The program and its job.
    by_mm: By how much; None takes what clears stock, screws and clamps of the job [mm].
    Returns: The copy, read again and compared with the original motion by motion.
    Raises InputError: If the height is impossible, or if there is none and the job does not give one.
    Raises ProgramError: If a height cannot be raised with certainty; every such line is named.

    Note: Absolute Z words, R of canned cycles, absolute K and G92 Z get the height added. Words in
      incremental mode stay, but for the first one after a height that the program did not set. G53 and the
      points of G28 and G30 stay; the way point of an absolute G28 is raised.
    """
    program = desk.read(desk.data, None)
    refuse_unreadable(program, desk.data)
    before = heights(program, desk.setup)
    if by_mm is None:
        if before.obstacle_mm is None:
            raise InputError(
                "no height",
                "a height such as 20 mm, or a job that describes stock, screws and clamps",
                "give --by",
                field="--by",
            )
        by_mm = max(math.ceil(before.needed_mm), 1.0)
    if not (math.isfinite(by_mm) and 0 < by_mm <= tuning.LIFT_MOST_MM):
        raise InputError(f"{by_mm:g} mm", f"more than 0 and at most {tuning.LIFT_MOST_MM:g} mm", field="--by")
    by = _height_to_add(by_mm, program)
    if before.obstacle_mm is not None and float(by) < before.needed_mm - 1e-6:
        raise InputError(
            f"{float(by):g} mm",
            f"at least {before.needed_mm:.2f} mm: the deepest point, Z {before.lowest_mm:.2f} mm, has to come "
            f"{tuning.LIFT_CLEARANCE_MM:g} mm above {before.obstacle}",
            f"give --by {math.ceil(before.needed_mm):g} or more",
            field="--by",
        )
    if before.ceiling_mm is not None and before.highest_mm + float(by) > before.ceiling_mm + 1e-6:
        raise InputError(
            f"{float(by):g} mm",
            f"at most {before.ceiling_mm - before.highest_mm:.1f} mm: the highest point, Z {before.highest_mm:.2f} mm, "
            "would pass the upper end of the Z axis",
            "lower --by, or make room (thinner spacer, cutter set higher)",
            field="--by",
        )
    watch = _Watch(by, program.name)
    desk.read(desk.data, watch.block)
    edits = watch.result()
    data = apply(program, edits)
    again = desk.read(data, None)
    compare_raised(desk, program, again, data, float(by))
    notes = list(watch.notes)
    if abs(float(by) - by_mm) > 1e-9:
        notes.append(
            f"raised by {float(by):g} mm instead of {by_mm:g} mm, which an inch word can say without rounding"
        )
    return Lifted(data, float(by), edits, len(program.motions), heights(again, desk.setup), tuple(notes))


def _height_to_add(by_mm: float, program: Program) -> Decimal:
    """The height, rounded up to what the program's units can say exactly [mm]."""
    metric = Decimal(repr(by_mm)).quantize(Decimal("0.001"), rounding=ROUND_CEILING)
    if "G20" not in program.units_seen:
        return metric
    # 0.0001 in for a program in inches; 0.005 in is 0.127 mm, exact in both units
    step = Decimal("0.127") if "G21" in program.units_seen else Decimal("0.00254")
    return (metric / step).to_integral_value(rounding=ROUND_CEILING) * step


class _Watch:
    """Follows the blocks as they are carried out and decides which words get the height.

    by: Height to add [mm].
    name: Name of the program, for errors.
    """

    def __init__(self, by: Decimal, name: str) -> None:
        self.by = by
        self.name = name
        self.up = False  # whether the height in force is the original one plus `by`
        self.choice: dict[tuple[int, str], tuple[int, int, str]] = {}
        self.left: set[tuple[int, str]] = set()
        self.errors: dict[int, ProgramError] = {}
        self.notes: list[str] = []

    def result(self) -> tuple[Edit, ...]:
        """The changes.

        Raises ProgramError: If something cannot be raised.
        """
        if self.errors:
            errors = [self.errors[line] for line in sorted(self.errors)]
            raise errors[0] if len(errors) == 1 else ManyErrors(errors[:12])
        return tuple(Edit(line, s, e, text) for (line, _), (s, e, text) in sorted(self.choice.items()))

    def _refuse(self, line: int, found: str, accepted: str, action: str) -> None:
        self.errors.setdefault(line, ProgramError(found, accepted, action, file=self.name, line=line))

    def block(self, block: Block, request: Request, machine: Machine) -> None:
        """Look at one block before it is carried out.

        block: The block.
        request: Its codes.
        machine: The modal state before it.
        """
        line, words = block.line, block.words
        if block.kind or block.broken or machine.distorted:
            what = (
                "a statement that is not followed"
                if not machine.distorted
                else "turned, scaled or polar coordinates"
            )
            self._refuse(
                line, what, "plain coordinates", "raise Z0 at the machine instead, by touching off higher"
            )
            return
        if any(letter in words for letter in "ABC"):
            self._refuse(line, "a rotary axis", "X, Y and Z only", "raise Z0 at the machine instead")
        code = request.nonmodal
        groups = request.groups
        if code == 530:
            self.up = self.up and "Z" not in words
        elif code in (280, 300):
            if "Z" in words and not self._incremental(groups, machine):
                self._add(block, "Z", groups, machine, True)
            named = machine.profile.home_axes == "named" and any(axis in words for axis in "XYZ")
            self.up = self.up and named and "Z" not in words
        elif code == 920 or (code == 100 and "L" in words and round(words["L"][0]) == 20):
            if "Z" in words:
                self._add(block, "Z", groups, machine, self.up)
        elif request.moves and code not in (100, 520) and groups.get(GROUP_LENGTH) != 431:
            self._move(block, request, machine)
        elif groups.get(GROUP_LENGTH) == 431 and request.moves and "Z" in words:
            self._refuse(
                line, "G43.1 with a Z word beside a motion", "G43.1 in a line of its own", "split the line"
            )

    def _move(self, block: Block, request: Request, machine: Machine) -> None:
        words, groups, motion, line = block.words, request.groups, request.motion, block.line
        incremental = self._incremental(groups, machine)
        plane = groups.get(GROUP_PLANE, int(machine.state[PLANE]) * 10)
        if motion in PROBES:
            self._refuse(line, "a probing move", "moves whose end the program names", "take the probing out")
            return
        if motion in CYCLES:
            if plane != 170 or motion == 870:
                what = "back boring (G87)" if motion == 870 else "a canned cycle outside the XY plane"
                self._refuse(line, what, "cycles along Z", "write the moves out")
            elif not self.up:
                self._refuse(
                    line, "a canned cycle before the program has set a height", "a Z move before it",
                    "write G0 and a travel height before the cycle",
                )  # fmt: skip
            for letter in "RZ":
                if letter in words:
                    self._add(block, letter, groups, machine, not incremental)
            return
        arc = motion in (20, 30)
        if arc and plane != 170:
            if not self.up:
                self._refuse(
                    line, "an arc in height before the program has set a height", "a Z move before it",
                    "write G0 and a travel height before it",
                )  # fmt: skip
            centre = groups.get(GROUP_ARC_DISTANCE)
            if "K" in words and (centre == 901 if centre is not None else bool(machine.state[ARC_ABSOLUTE])):
                self._add(block, "K", groups, machine, True)
        if "Z" in words:
            if not self.up and incremental:
                if arc or block.deleted:
                    self._refuse(
                        line, "a step in Z from a height the program did not set", "an absolute height first",
                        "write G90 G0 and a travel height before it",
                    )  # fmt: skip
                self._add(block, "Z", groups, machine, True)
            else:
                self._add(block, "Z", groups, machine, not incremental)
            self.up = True
        elif motion != 0 and not self.up:
            self._refuse(
                line, "a move at feed at a height the program did not set", "a Z word before it",
                "write G0 and a travel height before it",
            )  # fmt: skip

    def _incremental(self, groups: dict[int, int], machine: Machine) -> bool:
        code = groups.get(GROUP_DISTANCE)
        return bool(machine.state[INCREMENTAL]) if code is None else code == 910

    def _add(self, block: Block, letter: str, groups: dict[int, int], machine: Machine, add: bool) -> None:
        """Note whether a word gets the height; a line that is run again must be decided the same way."""
        _, start, end = block.words[letter]
        line, key, text = block.line, (block.line, letter), block.text[start:end]
        if not add:
            self.left.add(key)
        elif not is_literal(text):
            self._refuse(
                line, f"{text.strip()}, a height that is computed", "a plain number",
                "have the program written without parameters and expressions, or raise Z0 at the machine",
            )  # fmt: skip
            return
        else:
            units = groups.get(GROUP_UNITS)
            inch = machine.state[UNIT] != 1.0 if units is None else units == 200
            new = raised(text, (self.by / INCH).normalize() if inch else self.by.normalize())
            if self.choice.setdefault(key, (start, end, new)) != (start, end, new):
                self.left.add(key)
        if key in self.left and key in self.choice:
            self._refuse(
                line, f"{text.strip()} is run more than once and means another height each time",
                "a height that is the same each time", "write the calls out, or raise Z0 at the machine",
            )  # fmt: skip
