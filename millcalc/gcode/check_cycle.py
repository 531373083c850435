"""What is wrong with the words of a canned cycle."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.gcode.arc_geometry import PLANE_AXES
from millcalc.gcode.modal import GROUP_DISTANCE, GROUP_FEED_MODE, GROUP_PLANE, M_SPINDLE, M_TOOL, code_name
from millcalc.gcode.problems import Problem
from millcalc.gcode.profiles import Profile
from millcalc.gcode.request import Request
from millcalc.gcode.state import FEED_MODE, INCREMENTAL, PLANE, SPINDLE, State
from millcalc.gcode.sticky import NEEDS_DWELL, PECKING, Sticky
from millcalc.gcode.tuning import INTEGER_TOLERANCE
from millcalc.gcode.words import Block

MOST_REPEATS = 100_000  # holes of one line; beyond any drilling job. Estimate


@dataclass(frozen=True, slots=True)
class _Case:
    """A cycle block and what it meets."""

    block: Block
    request: Request
    sticky: Sticky
    state: State

    @property
    def name(self) -> str:
        return code_name("G", self.request.motion)

    def value(self, letter: str) -> float | None:
        """A word of the block, or what an earlier line of the same cycle left."""
        if letter in self.block.words:
            return self.block.words[letter][0]
        return self.sticky.values.get(letter) if self.sticky.active == self.request.motion else None

    def tell(
        self, code: str, fact: str, action: str, expected: str, letter: str = "", blocks: bool = True
    ) -> None:
        block = self.block
        first, last = next(((s, e) for _, s, e in block.g), (0, len(block.text)))
        if letter in block.words:
            _, first, last = block.words[letter]
        block.problems.append(
            Problem(code, first, last, fact, action, block.text[first:last], expected, blocks=blocks)
        )


def check_cycle(block: Block, request: Request, sticky: Sticky, state: State, profile: Profile) -> None:
    """Find what is wrong with the words of a cycle block; problems go to the block.

    block: The block.
    request: Its codes.
    sticky: What earlier lines left.
    state: The modal state, read only.
    profile: How the controller reads.
    """
    case = _Case(block, request, sticky, state)
    if not any(letter in block.words for letter in "XYZ"):
        case.tell("CYCLE-01", f"{case.name} has no X, Y or Z word", "write where the hole is", "an axis word")
        return
    _levels(case)
    _repeats(case)
    _dwell(case, profile)
    _peck(case)
    _surroundings(case)
    _spindle(case)


def _levels(case: _Case) -> None:
    plane = case.request.groups.get(GROUP_PLANE, int(case.state[PLANE]) * 10) // 10
    depth = "XYZ"[PLANE_AXES[plane - 17][2]]
    if case.value(depth) is None:
        fact = f"{case.name} has no depth: {depth} is missing on its first line"
        case.tell("CYCLE-02", fact, f"write {depth}", depth)
    if "R" not in case.block.words and "R" not in case.sticky.values:
        case.tell("CYCLE-04", f"{case.name} has no retract level R", "write R above the work", "R")


def _repeats(case: _Case) -> None:
    if "L" not in case.block.words:
        return
    count = case.block.words["L"][0]
    distance = case.request.groups.get(GROUP_DISTANCE)
    incremental = bool(case.state[INCREMENTAL]) if distance is None else distance == 910
    if not (count >= 1 - INTEGER_TOLERANCE and abs(count - round(count)) <= INTEGER_TOLERANCE):
        whole = "a whole number from 1 on"
        fact = f"the number of repeats L{count:g} is not {whole}"
        case.tell("CYCLE-05", fact, f"write {whole}", whole, "L")
    elif count > 1 and not incremental:
        case.tell(
            "CYCLE-12",
            f"{case.name} with L{count:g} under G90 drills the same hole {count:g} times",
            "write G91 and distances to drill a row of holes, or leave L out",
            "G91, or L1",
            "L",
            blocks=False,
        )
    if count > MOST_REPEATS:
        fact = f"the number of repeats L{count:g} is beyond any drilling job"
        case.tell("CYCLE-05", fact, "correct L", "a smaller number", "L")


def _dwell(case: _Case, profile: Profile) -> None:
    if case.request.motion not in NEEDS_DWELL:
        return
    dwell = case.value("P")
    if dwell is None:
        fact = f"{case.name} has no dwell time P"
        unit = "milliseconds" if profile.dwell.get("P") == 0.001 else "seconds"
        case.tell("CYCLE-06", fact, f"write P with the dwell in {unit}", "P")
    elif dwell < 0:
        fact = f"the dwell time P{dwell:g} of {case.name} is negative"
        case.tell("CYCLE-06", fact, "write zero or more", "P", "P")


def _peck(case: _Case) -> None:
    if case.request.motion in PECKING:
        peck = case.value("Q")
        if peck is None:
            fact = f"{case.name} has no peck depth Q"
            case.tell("CYCLE-07", fact, "write Q with the depth of one peck", "Q")
        elif not peck > 0:
            fact = f"the peck depth Q{peck:g} of {case.name} is not above zero"
            case.tell("CYCLE-07", fact, "write Q above zero", "Q above zero", "Q")
    if case.request.motion == 870:
        for letter in "IJK":
            if case.value(letter) is None:
                case.tell("CYCLE-08", f"back boring (G87) has no {letter}", f"write {letter}", letter)


def _surroundings(case: _Case) -> None:
    if any(letter in case.block.words for letter in "ABC"):
        fact = f"{case.name} moves a rotary axis"
        case.tell("CYCLE-09", fact, "turn the axis in a line of its own", "X, Y, Z only")
    if case.request.groups.get(GROUP_FEED_MODE, int(case.state[FEED_MODE]) * 10) == 930:
        fact = f"{case.name} stands under inverse-time feed (G93)"
        case.tell("CYCLE-10", fact, "write G94 before it", "G94")


def _spindle(case: _Case) -> None:
    cycle, codes = case.request.motion, case.request.m
    turning = {3: 1, 4: -1, 5: 0}.get(codes.get(M_SPINDLE, -1), int(case.state[SPINDLE]))
    if M_TOOL in codes and M_SPINDLE not in codes:
        turning = 0
    fact = ""
    if cycle == 840 and turning in (0, -1):
        fact = "tapping (G84) starts with the spindle not turning clockwise"
    elif cycle in (860, 870, 880) and turning == 0:
        fact = f"{case.name} stops and restarts the spindle, but it is not turning"
    if fact:
        case.tell("CYCLE-11", fact, "write M3 and S before it", "M3")
