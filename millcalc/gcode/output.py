"""Where motions and events go: the growing columns, shared with the compiled reader, and the event list."""

from __future__ import annotations

import math

import numpy as np

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
from millcalc.gcode.tuning import FARTHEST_MM, MAX_COMMENT_EVENTS

NAN = float("nan")


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
        self.columns: Columns = new_columns(max(min(rows, max_motions), 16))
        self.events: list[Event] = []
        self.buffer = np.zeros((4096, EVENT_COLUMNS))
        self.starts: dict[int, tuple[float, float, float]] = {}
        self.flags = 0
        """Flags every row of the present block gets: optional, rotary, machine, home, cycle."""
        self.far_mm: float | None = None
        """A coordinate of the present block that no machine reaches; the motion to it was not written [mm]."""

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
        size = len(self.columns.kind)
        if size >= self.max_motions:
            return False
        self.columns = grown_columns(
            self.columns,
            self.count,
            min(max(size * 2, 1024), self.max_motions),
            centred=self.state[CENTRED] != 0.0,
        )
        return True

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
        row = int(self.state[ROWS])
        here = self.state[POS : POS + 3]
        before = points_of(self.columns)[row]
        if row == 0:
            before[:] = here
        elif before.tobytes() != here.tobytes():
            self.starts[row] = (float(here[0]), float(here[1]), float(here[2]))
        else:
            self.starts.pop(row, None)

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
        """
        if self._too_far(target):
            return
        state = self.state
        now = state.tolist()
        row = int(now[ROWS])
        if row >= len(self.columns.kind) and not self.grow():
            return
        self.note_start()
        out = self.columns
        if length_mm is None:
            dx, dy, dz = target[0] - now[POS], target[1] - now[POS + 1], target[2] - now[POS + 2]
            length_mm = 0.0 if kind == DWELL else math.sqrt(dx * dx + dy * dy + dz * dz)
        fed = kind not in (RAPID, DWELL)
        out.kind[row] = kind
        out.end_mm[row] = target
        if centre is not None and not now[CENTRED]:
            out.centre_mm[:row] = NAN
            state[CENTRED] = now[CENTRED] = 1.0
        if now[CENTRED]:
            out.centre_mm[row] = NAN if centre is None else centre
        out.sweep_rad[row] = sweep_rad
        out.plane[row] = int(now[PLANE])
        out.length_mm[row] = length_mm
        out.feed_mm_min[row] = _rate_mm_min(now, length_mm) if fed else NAN
        out.feed_mode[row] = int(now[FEED_MODE])
        out.spindle_rpm[row] = now[RPM]
        out.spindle_dir[row] = int(now[SPINDLE])
        out.tool[row] = int(now[TOOL])
        out.coolant[row] = int(now[COOLANT])
        out.line[row] = line
        out.call_depth[row] = int(now[DEPTH])
        out.dwell_s[row] = seconds
        out.frame[row] = int(now[FRAME])
        out.flags[row] = self.flags | _row_flags(now, fed)
        state[POS : POS + 3] = target
        state[ROWS] = row + 1

    def _too_far(self, target: list[float]) -> bool:
        """Whether no machine reaches a place; the axis is unknown then, and so for the rest of the block."""
        for axis in (0, 1, 2):
            value = target[axis]
            if value > FARTHEST_MM or value < -FARTHEST_MM:
                self.far_mm = value
                self.state[POS + axis] = NAN
        return self.far_mm is not None

    def line_to(self, target: list[float], line: int, rapid: bool) -> None:
        """Write a rapid or a straight feed to `target` [mm]; nothing when it is where the tool is."""
        here = self.state[POS : POS + 3]
        if all(abs(float(here[k]) - target[k]) <= 1e-12 for k in range(3)):
            return
        self.row(RAPID if rapid else LINE, target, line)

    def given(self) -> MotionTable:
        """The motion table at the end; what it does not need of the columns is let go."""
        table = self.table()
        self.columns = new_columns(0)
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
