"""What both readers share: the modal state, the rules the profile sets, and the growing motion columns.

The state is one float64 array so that the compiled reader and the plain one work on the same memory; the
constants below name its entries.  Lengths are millimetres in part coordinates; NaN is "not known".
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import SPINDLE_UNKNOWN, MotionTable

State = NDArray[np.float64]
Rules = NDArray[np.int64]

# entries of the state
POS: Final = 0  # 0, 1, 2: x, y, z of the controlled point, part coordinates [mm]
SHIFT: Final = 3  # 3, 4, 5: part coordinate minus programmed number [mm]
UNIT: Final = 6  # millimetres per programmed length unit: 1 or 25.4
UNIT_KNOWN: Final = 7  # 1 after the first G20 or G21
INCREMENTAL: Final = 8  # 0 absolute (G90), 1 incremental (G91)
DISTANCE_KNOWN: Final = 9  # 1 after the first G90 or G91
MOTION: Final = 10  # motion code times ten in force; -1 none yet
PLANE: Final = 11  # 17, 18 or 19
FEED: Final = 12  # F word as programmed; NaN before the first
FEED_MODE: Final = 13  # 93, 94 or 95
RPM: Final = 14  # S word; NaN before the first
SPINDLE: Final = 15  # 1, -1, 0 or SPINDLE_UNKNOWN
TOOL: Final = 16  # tool in the spindle; -1 unknown
COOLANT: Final = 17  # bit 1 mist, bit 2 flood
ARC_ABSOLUTE: Final = 18  # 1 when arc centres are absolute (G90.1)
FRAME: Final = 19  # index of the work frame
DEPTH: Final = 20  # depth of subprogram calls
COMP: Final = 21  # FLAG_COMP_LEFT, FLAG_COMP_RIGHT or 0
ROWS: Final = 22  # motions written so far
PLACED: Final = 23  # 1 once the part frame is fixed by the first motion in a work offset
SEEN: Final = 24  # bits of SEEN_WORDS that occurred
COMMENTS: Final = 25  # comment events kept so far
PC: Final = 26  # line index to go on with
EVENTS: Final = 27  # rows in use of the event buffer
SPEED_EVENTS: Final = 28  # feed and speed events kept so far
PLANE_KNOWN: Final = 29  # 1 after the first plane word
WORDS: Final = 30  # 1 once a line held a word
CENTRED: Final = 31  # 1 once the column of centres is written: from the first arc on
STATE_SIZE: Final = 32

SEEN_WORDS: Final = (
    "G17", "G18", "G19", "G20", "G21", "G40", "G41", "G42", "G43", "G43.1", "G49", "G54", "G55", "G56", "G57",
    "G58", "G59", "G59.1", "G59.2", "G59.3", "G61", "G61.1", "G64", "G80", "G90", "G91", "G90.1", "G91.1", "G93",
    "G94", "G95", "G96", "G97", "G98", "G99",
)  # fmt: skip
SEEN_BITS: Final = {round(float(word[1:]) * 10): bit for bit, word in enumerate(SEEN_WORDS)}

# entries of the rules
R_LAST: Final = 0  # line index to stop before
R_MAX_LINE: Final = 1  # longest line without its end [byte]
R_NUMBER_DIGITS: Final = 2  # most digits of a line number
R_LOWER: Final = 3  # lower case accepted
R_TAB: Final = 4  # tabs accepted
R_SEMICOLON: Final = 5  # ; comments accepted
R_FOREIGN: Final = 6  # non-ASCII bytes accepted in comments
R_REALTIME: Final = 7  # ? ! ~ accepted in comments
R_BARE: Final = 8  # a motion word without axis words only sets the mode
R_ARC_END: Final = 9  # an arc must name an end coordinate in its plane
R_COMMENT_CAP: Final = 10  # most comment events
R_ROTARY: Final = 11  # A B C are read
R_HALF_ARCS: Final = 12  # half arcs by radius are reported only where rounding matters
R_IDLE_CENTRE: Final = 13  # a zero centre word outside the plane does no harm
R_SOFT: Final = 20  # 20 + k: 1 when violation k is only counted from now on
R_COUNT: Final = 40  # 40 + k: how often it was counted
R_GCLASS: Final = 64  # 64 + code times ten: class of a plain G code, 0 for odd
R_GSEEN: Final = 1064  # 1064 + code times ten: bit of SEEN_WORDS or -1
R_MCLASS: Final = 2064  # 2064 + code: class of a plain M code, 0 for odd
RULES_SIZE: Final = 2200

# violations that do not change what a line means; past their cap they are counted by the compiled reader
(
    SOFT_LENGTH, SOFT_DIGITS, SOFT_LOWER, SOFT_TAB, SOFT_SEMICOLON, SOFT_FOREIGN, SOFT_REALTIME, SOFT_ROTARY,
    SOFT_ROUNDING, SOFT_FLAT_ARC,
) = range(10)  # fmt: skip
SOFT_CODES: Final = (
    "TEXT-04", "WORD-14", "TEXT-13", "TEXT-14", "TEXT-15", "TEXT-07", "TEXT-16", "WORD-16", "ARC-04", "ARC-10",
)  # fmt: skip

# classes of plain G and M codes
G_MOTION, G_PLANE, G_UNITS, G_DISTANCE, G_ARC_DISTANCE, G_FEED_MODE, G_NOTHING, G_PATH = (
    1,
    2,
    3,
    4,
    5,
    6,
    7,
    8,
)
M_SPINDLE, M_COOLANT = 1, 2

# event kinds the compiled reader writes: index into EVENT_KINDS of program.py
EVENT_SPINDLE, EVENT_SPEED, EVENT_FEED, EVENT_COOLANT = 0, 1, 2, 5
EVENT_COMMENT, EVENT_UNITS, EVENT_DISTANCE, EVENT_PLANE, EVENT_FEED_MODE, EVENT_PATH = 10, 11, 12, 13, 14, 19
EVENT_COLUMNS: Final = 6  # kind, motion, line, value, start byte, end byte

# answers of the compiled reader
DONE, ODD, FULL, EVENTS_FULL = 0, 1, 2, 3


class Columns(NamedTuple):
    """The columns of the motion table with room to grow; same names and types as MotionTable, but for the starts.

    A motion starts where the one before it ended; the few that do not are kept beside the columns.
    """

    kind: NDArray[np.uint8]
    end_mm: NDArray[np.float64]
    centre_mm: NDArray[np.float64]
    sweep_rad: NDArray[np.float64]
    plane: NDArray[np.uint8]
    length_mm: NDArray[np.float64]
    feed_mm_min: NDArray[np.float64]
    feed_mode: NDArray[np.uint8]
    spindle_rpm: NDArray[np.float64]
    spindle_dir: NDArray[np.int8]
    tool: NDArray[np.int32]
    coolant: NDArray[np.uint8]
    line: NDArray[np.int32]
    call_depth: NDArray[np.uint8]
    dwell_s: NDArray[np.float64]
    frame: NDArray[np.uint8]
    flags: NDArray[np.uint16]


_COLUMN_TYPES: Final[tuple[tuple[Any, int, bool], ...]] = (  # type, width, zeroed
    (np.uint8, 1, False), (np.float64, 3, False), (np.float64, 3, False), (np.float64, 1, True), (np.uint8, 1, False),
    (np.float64, 1, False), (np.float64, 1, False), (np.uint8, 1, False), (np.float64, 1, False), (np.int8, 1, False),
    (np.int32, 1, False), (np.uint8, 1, True), (np.int32, 1, False), (np.uint8, 1, True), (np.float64, 1, True),
    (np.uint8, 1, True), (np.uint16, 1, False),
)  # fmt: skip
MANY_MOTIONS: Final = 1_000_000  # of such a table columns that are the same all over are kept once
END_COLUMN: Final = 1
CENTRE_COLUMN: Final = 2
"""Index of the end points, whose array has one row more: the start of the first motion in front of it."""


def new_columns(rows: int) -> Columns:
    """Make columns with room for some motions; memory is only used once rows are written.

    rows: Number of rows [-].
    Returns: Columns without content; those that are mostly zero are zeroed.  ``end_mm`` is a view without
      the first row of an array with one row more.
    """
    arrays: list[Any] = []
    for kind, width, zeroed in _COLUMN_TYPES:
        make = np.zeros if zeroed else np.empty
        arrays.append(make((rows, width) if width > 1 else rows, dtype=kind))
    points = np.empty((rows + 1, 3))
    points[0] = np.nan
    arrays[END_COLUMN] = points[1:]
    return Columns(*arrays)


def points_of(columns: Columns) -> NDArray[np.float64]:
    """The array behind ``end_mm`` with the first start in front, (rows + 1, 3) [mm]."""
    base = columns.end_mm.base
    assert base is not None
    return base


def grown_columns(columns: Columns, used: int, rows: int, *, centred: bool) -> Columns:
    """Copy columns into larger ones.

    columns: Present columns.
    used: Rows in use [-].
    rows: Rows of the new columns [-].
    centred: Whether the column of centres is written.
    Returns: The larger columns.
    """
    larger = new_columns(rows)
    for name, old in columns._asdict().items():
        if name != "centre_mm" or centred:
            getattr(larger, name)[:used] = old[:used]
    points_of(larger)[0] = points_of(columns)[0]
    return larger


def motion_table(
    columns: Columns, used: int, starts: dict[int, tuple[float, float, float]], *, centred: bool
) -> MotionTable:
    """The table of the rows in use, without copying unless much room is left over.

    columns: The columns.
    used: Rows in use [-].
    starts: Starts of the motions that do not begin where the one before ended [mm].
    centred: Whether the column of centres is written; else all centres are one NaN, which takes no memory.
    Returns: Views of the columns, or copies when less than half of the room is used; of a large table the
      columns that are the same all over take no memory.  Where no motion
      jumps, starts and ends are views of one array of points.
    """
    points: NDArray[np.float64] = points_of(columns)[: used + 1]
    arrays: list[Any] = [column[:used] for column in columns]
    if not centred:
        arrays[CENTRE_COLUMN] = np.empty((0, 3))
    if used * 2 < len(columns.kind):
        points = points.copy()
        arrays = [array.copy() for array in arrays]
    first = points[:-1]
    if starts:
        first = first.copy()
        for row, start in starts.items():
            if row < used:
                first[row] = start
    arrays[END_COLUMN] = points[1:]
    if used >= MANY_MOTIONS:
        for place, column in enumerate(arrays):
            if column.ndim == 1 and column[0] == column[used // 2] and (column == column[0]).all():
                arrays[place] = np.broadcast_to(column[0].copy(), column.shape)
    if not centred:
        arrays[CENTRE_COLUMN] = np.broadcast_to(np.full(3, np.nan), (used, 3))
    arrays.insert(1, first)
    return MotionTable(*arrays)


def new_state() -> State:
    """The state before the first line: positions, units, modes, feed, speed and tool unknown.

    Returns: The state; units count as millimetres, distances as absolute, the plane as XY until a word says
      so.
    """
    state = np.zeros(STATE_SIZE)
    state[POS : POS + 3] = np.nan
    state[UNIT] = 1.0
    state[MOTION] = -1
    state[PLANE] = 17
    state[FEED] = np.nan
    state[FEED_MODE] = 94
    state[RPM] = np.nan
    state[SPINDLE] = SPINDLE_UNKNOWN
    state[TOOL] = -1
    return state
