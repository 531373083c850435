"""The codes the reader knows: modal groups, names, what is near to an unknown one."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

# group of each G code times ten. NISTIR 6556 table 4; codes beyond it: common practice, no source
GROUP_NONMODAL: Final = 0
GROUP_MOTION: Final = 1
GROUP_PLANE: Final = 2
GROUP_DISTANCE: Final = 3
GROUP_ARC_DISTANCE: Final = 4
GROUP_FEED_MODE: Final = 5
GROUP_UNITS: Final = 6
GROUP_COMP: Final = 7
GROUP_LENGTH: Final = 8
GROUP_RETURN: Final = 10
GROUP_FRAME: Final = 12
GROUP_PATH: Final = 13
GROUP_SPEED_MODE: Final = 14
GROUP_ROTATION: Final = 15
GROUP_SCALING: Final = 16
GROUP_POLAR: Final = 17
GROUP_MIRROR: Final = 18

CYCLES: Final = (730, 810, 820, 830, 840, 850, 860, 870, 880, 890)
PROBES: Final = (382, 383, 384, 385)
FRAME_CODES: Final = (540, 550, 560, 570, 580, 590, 591, 592, 593)
AXIS_NONMODAL: Final = (100, 280, 300, 520, 920)
"""Group-0 codes that use the axis words (NISTIR 6556 section 3.4; G52: common practice, no source)."""

G_GROUPS: Final[dict[int, int]] = {
    **dict.fromkeys((0, 10, 20, 30, 800, *PROBES, *CYCLES), GROUP_MOTION),
    **dict.fromkeys((170, 180, 190), GROUP_PLANE),
    **dict.fromkeys((900, 910), GROUP_DISTANCE),
    **dict.fromkeys((901, 911), GROUP_ARC_DISTANCE),
    **dict.fromkeys((930, 940, 950), GROUP_FEED_MODE),
    **dict.fromkeys((200, 210), GROUP_UNITS),
    **dict.fromkeys((400, 410, 420), GROUP_COMP),
    **dict.fromkeys((430, 431, 490), GROUP_LENGTH),
    **dict.fromkeys((980, 990), GROUP_RETURN),
    **dict.fromkeys(FRAME_CODES, GROUP_FRAME),
    **dict.fromkeys((610, 611, 640), GROUP_PATH),
    **dict.fromkeys((960, 970), GROUP_SPEED_MODE),
    **dict.fromkeys((680, 690), GROUP_ROTATION),
    **dict.fromkeys((500, 510), GROUP_SCALING),
    **dict.fromkeys((501, 511), GROUP_MIRROR),
    **dict.fromkeys((150, 160), GROUP_POLAR),
    **dict.fromkeys((40, 90, 100, 280, 281, 300, 301, 520, 530, 920, 921, 922, 923), GROUP_NONMODAL),
}

M_STOP: Final = 4
M_TOOL: Final = 6
M_SPINDLE: Final = 7
M_COOLANT: Final = 8
M_OVERRIDE: Final = 9
M_CALL: Final = 10
M_ORIENT: Final = 11
M_GROUPS: Final[dict[int, int]] = {
    **dict.fromkeys((0, 1, 2, 30, 60), M_STOP),
    6: M_TOOL,
    **dict.fromkeys((3, 4, 5), M_SPINDLE),
    19: M_ORIENT,
    **dict.fromkeys((7, 8, 9), M_COOLANT),
    **dict.fromkeys((48, 49, 50, 51, 52, 53), M_OVERRIDE),
    **dict.fromkeys((98, 99), M_CALL),
}

# what an unknown code may have been meant as. RS-274-D assignments: public code lists; the rest from memory
G_HINTS: Final[dict[int, str]] = {
    50: "smoothing of some controls; remove it",
    110: "a polar or compressed-data code of some controls",
    120: "a circular-pocket code of some controls; write the moves out",
    130: "a circular-pocket code of some controls; write the moves out",
    220: "a cutting macro of some controls",
    290: "a return from home of some controls; write the move out",
    310: "a skip (probe) move of some controls; G38.2 is read",
    330: "thread cutting, which is not read",
    440: "negative tool length offset of some controls; G43 is read",
    650: "a macro call; its program is not in the file",
    660: "a modal macro call; its program is not in the file",
    670: "end of a modal macro call",
    700: "inch in older controls; write G20",
    710: "millimetres in older controls; write G21",
    720: "a turning cycle or rotation of some controls",
    740: "left-hand tapping of some controls; G84 is read",
    760: "fine boring of some controls; G86 is read",
}
M_HINTS: Final[dict[int, str]] = {
    10: "a clamp of some machines",
    11: "a clamp of some machines",
    13: "spindle and coolant together on some machines; write M3 and M8",
    14: "spindle and coolant together on some machines; write M4 and M8",
    47: "repeat of the whole program on some controls",
    82: "an extruder setting of printers",
    84: "motors off on printer firmware",
    104: "an extruder temperature of printers",
    106: "a fan of printers; laser or spindle power on some boards",
    107: "a fan off of printers",
    109: "an extruder temperature of printers",
    140: "a bed temperature of printers",
}


def code_name(letter: str, code: int) -> str:
    """A code as it is written: ``G1``, ``G38.2``, ``M30``.

    letter: ``G`` or ``M``.
    code: Code; times ten for G [-].
    Returns: The text.

    >>> code_name("G", 382), code_name("G", 10), code_name("M", 30)
    ('G38.2', 'G1', 'M30')
    """
    if letter == "M":
        return f"M{code}"
    return f"G{code // 10}" if code % 10 == 0 else f"G{code // 10}.{code % 10}"


@lru_cache(maxsize=1024)
def nearest_codes(letter: str, code: int, count: int = 3) -> tuple[str, ...]:
    """The known codes whose digits are nearest to an unknown one.

    letter: ``G`` or ``M``.
    code: Unknown code; times ten for G [-].
    count: How many to give [-].
    Returns: Names, nearest first.

    >>> nearest_codes("G", 812, 2)
    ('G81', 'G82')
    """
    wanted = code_name(letter, code)

    def distance(name: str) -> tuple[int, int, float]:
        same = 0
        while same < min(len(name), len(wanted)) and name[same] == wanted[same]:
            same += 1
        return -same, abs(len(name) - len(wanted)), abs(float(name[1:]) - float(wanted[1:]))

    known = [code_name(letter, each) for each in (G_GROUPS if letter == "G" else M_GROUPS)]
    return tuple(sorted(known, key=distance)[:count])
