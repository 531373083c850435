"""Where motions and events go: the growing columns, shared with the compiled reader, and the event list."""

from __future__ import annotations

import math
from struct import pack

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import (
    DWELL,
    FLAG_FEED_UNKNOWN,
    FLAG_MODE_UNKNOWN,
    FLAG_UNITS_UNKNOWN,
    LINE,
    RAPID,
    MotionTable,
)
from millcalc.gcode.program import EVENT_KINDS, Event
from millcalc.gcode.state import (
    CENTRED,
    COMMENTS,
    COMP,
    COOLANT,
    DEPTH,
    DISTANCE_KNOWN,
    EVENT_COLUMNS,
    EVENT_COMMENT,
    EVENTS,
    FEED,
    FEED_MODE,
    FRAME,
    PLANE,
    POS,
    ROWS,
    RPM,
    SPEED_EVENTS,
    SPINDLE,
    TOOL,
    UNIT,
    UNIT_KNOWN,
    Columns,
    State,
    grown_columns,
    motion_table,
    new_columns,
    points_of,
)
from millcalc.gcode.tuning import FARTHEST_MM, MAX_COMMENT_EVENTS, NO_WAY_MM

NAN = float("nan")
_WAITING = 4096  # rows of the plain reader that are written at once [-]


class Output:
    """Motions and events written so far.

    state: The modal state; rows are written from it.
    data: The program, for the texts of comments.
    rows: Room to begin with [-].
    max_motions: Most motions [-].
    """

    def __init__(self, state: State, data: bytes, rows: int, max_motions: int) -> None:
        self.state = state
        self.data = data
        self.max_motions = max_motions
        self._columns: Columns = new_columns(max(min(rows, max_motions), 16))
        self._room = len(self._columns.kind)
        self._waiting: list[tuple[float, ...]] = []
        self._end: bytes | None = None
        """Where the row before ended, as stored; None when the compiled reader wrote it."""
        self.events: list[Event] = []
        self.buffer = np.zeros((4096, EVENT_COLUMNS))
        self.starts: dict[int, tuple[float, float, float]] = {}
        self.flags = 0
        """Flags every row of the present block gets: optional, rotary, machine, home, cycle."""
        self.far_mm: float | None = None
        """A coordinate of the present block that no machine reaches; the motion to it was not written [mm]."""

    @property
    def columns(self) -> Columns:
        """The columns, with all rows so far in them."""
        if self._waiting:
            self._write()
        return self._columns

    @property
    def count(self) -> int:
        """Motions written [-]."""
        return int(self.state[ROWS])

    @property
    def full(self) -> bool:
        """Whether no further motion may be written."""
        return self.count >= self.max_motions

    def grow(self) -> bool:
        """Make room; False when the limit is reached."""
        size = self._room
        if size >= self.max_motions:
            return False
        self._columns = grown_columns(
            self.columns,
            self.count,
            min(max(size * 2, 1024), self.max_motions),
            centred=self.state[CENTRED] != 0.0,
        )
        self._room = len(self._columns.kind)
        return True

    def _write(self) -> None:
        """Put the rows that wait into the columns."""
        rows = np.array(self._waiting)
        self._waiting.clear()
        self._put(rows)

    def _put(self, rows: NDArray[np.float64]) -> None:
        """Put rows into the columns, the last of them at the end of what is counted."""
        out, last = self._columns, self.count
        part = slice(last - len(rows), last)
        out.kind[part], out.end_mm[part], out.sweep_rad[part] = rows[:, 0], rows[:, 1:4], rows[:, 4]
        out.plane[part], out.length_mm[part], out.feed_mm_min[part] = rows[:, 5], rows[:, 6], rows[:, 7]
        out.feed_mode[part], out.spindle_rpm[part], out.spindle_dir[part] = (
            rows[:, 8],
            rows[:, 9],
            rows[:, 10],
        )
        out.tool[part], out.coolant[part], out.line[part] = rows[:, 11], rows[:, 12], rows[:, 13]
        out.call_depth[part], out.dwell_s[part] = rows[:, 14], rows[:, 15]
        out.frame[part], out.flags[part] = rows[:, 16], rows[:, 17]
        if self.state[CENTRED] != 0.0:
            out.centre_mm[part] = NAN

    def since(self, row: int) -> list[tuple[float, ...]]:
        """The rows from one on; none where the first of them no longer waits to be written."""
        count = self.count - row
        return self._waiting[-count:] if 0 < count <= len(self._waiting) else []

    def rows_again(
        self, rows: list[tuple[float, ...]], places_mm: NDArray[np.float64], lines: NDArray[np.int64]
    ) -> None:
        """Write some rows again, each time at another place; the first of them is the way across.

        rows: Rows that wait to be written.
        places_mm: X and Y of each time. (shape (n, 2))
        lines: Source line of each time. (shape (n,))
        """
        each, state = len(rows), self.state
        table = np.tile(np.array(rows), (len(lines), 1))
        table[:, 1:3], table[:, 13] = np.repeat(places_mm, each, axis=0), np.repeat(lines, each)
        dx, dy = np.diff(np.vstack([state[POS : POS + 2], places_mm]), axis=0).T
        table[::each, 6] = np.sqrt(dx * dx + dy * dy)
        while self._room < self.count + len(table):
            self.grow()
        if self._waiting:
            self._write()
        state[ROWS] += len(table)
        self._put(table)
        state[POS : POS + 2] = places_mm[-1]
        self._end = state[POS : POS + 3].tobytes()

    def event(self, kind: str, line: int, value: float = NAN, text: str = "") -> None:
        """Append an event before the next motion."""
        if kind in ("comment", "feed", "speed"):
            counter = COMMENTS if kind == "comment" else SPEED_EVENTS
            if self.state[counter] >= MAX_COMMENT_EVENTS:
                return
            self.state[counter] += 1
        self.events.append(Event(kind, self.count, line, value, text))

    def note_start(self) -> None:
        """Keep the present position as the start of the next motion where the one before ended elsewhere."""
        here = self.state[POS : POS + 3]
        row = int(self.state[ROWS])
        if row == 0:
            points_of(self.columns)[0] = here
            return
        stored = here.tobytes()
        if stored != (self._end or points_of(self.columns)[row].tobytes()):
            self.starts[row] = (float(here[0]), float(here[1]), float(here[2]))
        else:
            self.starts.pop(row, None)
        self._end = None  # whoever writes next may be the compiled reader

    def drain(self) -> None:
        """Turn the compiled reader's event rows into events."""
        used = int(self.state[EVENTS])
        for kind, motion, line, value, start, end in self.buffer[:used].tolist():
            text = ""
            if kind == EVENT_COMMENT:
                text = decoded(self.data[int(start) : int(end)]).strip()
            self.events.append(Event(EVENT_KINDS[int(kind)], int(motion), int(line), value, text))
        self.state[EVENTS] = 0

    def dwell(self, line: int, seconds: float) -> None:
        """Write a dwell row."""
        self.row(DWELL, [float(value) for value in self.state[POS : POS + 3]], line, seconds=seconds)

    def row(
        self,
        kind: int,
        target: list[float],
        line: int,
        *,
        centre: list[float] | None = None,
        sweep_rad: float = 0.0,
        length_mm: float | None = None,
        seconds: float = 0.0,
        now: list[float] | None = None,
    ) -> None:
        """Write one motion from the present position to `target` [mm] and make that the present position.

        A target beyond 100 m is kept in `far_mm` instead, and the axis is unknown then.

        kind: Motion kind.
        target: End in part coordinates [mm].
        line: Source line [-].
        centre: Arc centre [mm].
        sweep_rad: Arc sweep [rad].
        length_mm: Path length; None computes a straight one [mm].
        seconds: Dwell [s].
        now: The entries of the state, where the caller has read them already.
        """
        if self._too_far(target):
            return
        state = self.state
        if now is None:
            now = state.tolist()
        row = int(now[ROWS])
        if row >= self._room and not self.grow():
            return
        x, y, z = target
        fromx, fromy, fromz = now[POS : POS + 3]
        if self._end is None or pack("3d", fromx, fromy, fromz) != self._end:
            self.note_start()
        if length_mm is None:
            dx, dy, dz = x - fromx, y - fromy, z - fromz
            length_mm = 0.0 if kind == DWELL else math.sqrt(dx * dx + dy * dy + dz * dz)
        fed = kind not in (RAPID, DWELL)
        self._waiting.append(
            (
                *(kind, x, y, z, sweep_rad, now[PLANE], length_mm),
                _rate_mm_min(now, length_mm) if fed else NAN,
                *(now[FEED_MODE], now[RPM], now[SPINDLE], now[TOOL], now[COOLANT], line, now[DEPTH], seconds),
                *(now[FRAME], self.flags | _row_flags(now, fed)),
            )
        )
        state[POS : POS + 3] = target
        state[ROWS] = row + 1
        self._end = pack("3d", x, y, z)
        if centre is not None:
            self._centre(row, centre)
        elif len(self._waiting) >= _WAITING:
            self._write()

    def _centre(self, row: int, centre: list[float]) -> None:
        """Write the centre of the arc that a row is."""
        if not self.state[CENTRED]:
            self.columns.centre_mm[:row] = NAN
            self.state[CENTRED] = 1.0
        self.columns.centre_mm[row] = centre

    def _too_far(self, target: list[float]) -> bool:
        """Whether no machine reaches a place; the axis is unknown then, and so for the rest of the block."""
        x, y, z = target
        if abs(x) > FARTHEST_MM or abs(y) > FARTHEST_MM or abs(z) > FARTHEST_MM:
            for axis, value in enumerate(target):
                if abs(value) > FARTHEST_MM:
                    self.far_mm = value
                    self.state[POS + axis] = NAN
        return self.far_mm is not None

    def line_to(self, target: list[float], line: int, rapid: bool) -> None:
        """Write a rapid or a straight feed to `target` [mm]; nothing when it is where the tool is."""
        now = self.state.tolist()
        x, y, z = now[POS : POS + 3]
        near = NO_WAY_MM
        if abs(x - target[0]) <= near and abs(y - target[1]) <= near and abs(z - target[2]) <= near:
            return
        self.row(RAPID if rapid else LINE, target, line, now=now)

    def given(self) -> MotionTable:
        """The motion table at the end; what it does not need of the columns is let go."""
        table = self.table()
        self._columns = new_columns(0)
        return table

    def table(self) -> MotionTable:
        """The motion table."""
        return motion_table(self.columns, self.count, self.starts, centred=self.state[CENTRED] != 0.0)


def _rate_mm_min(now: list[float], length_mm: float) -> float:
    """Feed of a motion, whatever the feed mode, from the entries of the state [mm/min]."""
    feed, mode = now[FEED], now[FEED_MODE]
    if mode == 93.0:
        return feed * length_mm
    rate = feed * now[UNIT]
    return rate if mode == 94.0 else rate * now[RPM]


def _row_flags(now: list[float], fed: bool) -> int:
    """What is not known for sure of a motion, from the entries of the state."""
    flags = int(now[COMP])
    if now[UNIT_KNOWN] == 0.0:
        flags |= FLAG_UNITS_UNKNOWN
    if now[DISTANCE_KNOWN] == 0.0:
        flags |= FLAG_MODE_UNKNOWN
    if fed and math.isnan(now[FEED]):
        flags |= FLAG_FEED_UNKNOWN
    return flags


def decoded(raw: bytes) -> str:
    """Text of bytes that are UTF-8 or, failing that, Windows-1252.

    raw: The bytes.
    Returns: The text.
    """
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")
