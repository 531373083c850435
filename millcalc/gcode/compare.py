"""Two programs held against each other by what they do: motions matched in order, then settings, then events.

The text does not matter: an inch program and its metric twin are the same, and so are programs that differ in line
numbers, comments or blanks only.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntFlag

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.align import align
from millcalc.gcode.motions import FLAG_HOME, FLAG_MACHINE, MotionTable
from millcalc.gcode.program import Event, Program
from millcalc.gcode.tuning import COMPARE_PAIRS, COMPARE_SAME_MM, COMPARE_SAME_SHARE, COMPARE_STRETCHES

Rows = NDArray[np.int64]
Mask = NDArray[np.bool_]
SAME_S = 1e-6  # s; dwells closer than this are the same
INCH = 25.4
NOTHING = -(2**62)  # stands for an unknown number
# what else than motions a program does to the machine; feeds, speeds and units show in the motions themselves
EVENTS = frozenset(
    (
        "spindle", "coolant", "tool change", "stop", "optional stop", "end", "frame", "shift", "length offset",
        "compensation", "path mode", "override", "home", "unchecked",
    )
)  # fmt: skip


class What(IntFlag):
    """In what a motion differs."""

    NOTHING = 0
    PATH = 1
    FEED = 2
    SPEED = 4
    DIRECTION = 8
    TOOL = 16
    COOLANT = 32
    ONLY_A = 64
    ONLY_B = 128

    @property
    def words(self) -> tuple[str, ...]:
        """The words shown to the person, main one first."""
        names = {
            What.ONLY_A: "only in A", What.ONLY_B: "only in B", What.PATH: "way", What.FEED: "feed",
            What.SPEED: "speed", What.DIRECTION: "spindle state", What.TOOL: "tool", What.COOLANT: "coolant",
        }  # fmt: skip
        return tuple(name for bit, name in names.items() if self & bit)


SETTINGS = (What.FEED, What.SPEED, What.DIRECTION, What.TOOL, What.COOLANT)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Motions in a row that differ in the same things.

    what: In what they differ.
    count: How many motions [-].
    motion_a, motion_b: First motion in each program; None where it has none [-].
    lines_a, lines_b: First and last line in each program [-].
    """

    what: What
    count: int
    motion_a: int | None
    motion_b: int | None
    lines_a: tuple[int, int] | None
    lines_b: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class EventChange:
    """Something other than a motion that only one of the programs does.

    program: ``A`` or ``B``: which one does it.
    event: What it does.
    """

    program: str
    event: Event


@dataclass(frozen=True)
class Comparison:
    """In what two programs differ.

    same_text: Whether the files are the same, byte for byte.
    same_motions: Motions that are the same in everything [-].
    changed_way: Motions that take another way at the same place of the program [-].
    only_a, only_b: Motions that only one program has [-].
    settings: Motions of the same or a changed way with another feed, speed, spindle direction, tool or
      coolant [-].
    feed_ratio: Least and greatest feed in B over the one in A, where they differ [-].
    shift_mm: Every motion of B ends this far from the one of A: x, y, z [mm]; None when they do not agree
      in one shift.
    scale: Every motion of B ends at this multiple of the one of A, 25.4 or its inverse: a unit mixed up
      [-].
    stretches: What differs, in program order; at most COMPARE_STRETCHES.
    stretch_count: How many there are in all [-].
    events: What only one of them does besides moving.
    """

    same_text: bool
    same_motions: int
    changed_way: int
    only_a: int
    only_b: int
    settings: dict[str, int]
    feed_ratio: tuple[float, float] | None
    shift_mm: tuple[float, float, float] | None
    scale: float | None
    stretches: tuple[Stretch, ...]
    stretch_count: int
    events: tuple[EventChange, ...]

    @property
    def same(self) -> bool:
        """Whether both do the same."""
        return not self.stretch_count and not self.events


def compare_programs(a: Program, b: Program, within_mm: float = COMPARE_SAME_MM) -> Comparison:
    """Compare two programs by what they do.

    a, b: The programs as read.
    within_mm: Points closer than this are the same [mm].
    Returns: In what they differ.

    Note: Motions are matched by kind, start, end, centre, sweep and dwell, in order, with as many matches
      as landmarks (motions that occur once in each) allow; what stands between two matches is paired in
      order.
    """
    one, two = a.motions, b.motions
    rows_a, rows_b, what = _script(one, two, within_mm)
    both = (rows_a >= 0) & (rows_b >= 0)
    stretches, count = _stretches(one, two, rows_a, rows_b, what)
    feeds = both & ((what & What.FEED) != 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = two.feed_mm_min[rows_b[feeds]] / one.feed_mm_min[rows_a[feeds]]
    ratio = ratio[np.isfinite(ratio)]
    return Comparison(
        same_text=a.data == b.data,
        same_motions=int((what == 0).sum()),
        changed_way=int((both & ((what & What.PATH) != 0)).sum()),
        only_a=int((rows_b < 0).sum()),
        only_b=int((rows_a < 0).sum()),
        settings={
            bit.words[0]: int((both & ((what & bit) != 0)).sum())
            for bit in SETTINGS
            if (both & ((what & bit) != 0)).any()
        },
        feed_ratio=(float(ratio.min()), float(ratio.max())) if len(ratio) else None,
        shift_mm=_shift(one, two, within_mm),
        scale=_scale(one, two, within_mm),
        stretches=stretches,
        stretch_count=count,
        events=tuple(_event_changes(a, b)),
    )


def way_keys(table: MotionTable, within_mm: float) -> NDArray[np.uint64]:
    """A number for the way of each motion; equal ways have equal numbers.

    table: The motions.
    within_mm: Grid on which points are rounded [mm].
    Returns: Mixed from the rounded columns; two different ways share one with a chance of about 1 in 10^19
      [-].
    """
    key = np.zeros(len(table), np.uint64)
    columns: list[NDArray[np.int64]] = [table.kind.astype(np.int64)]
    columns.append(np.where(table.is_arc, table.plane, 0).astype(np.int64))
    for points in (table.start_mm, table.end_mm, table.centre_mm):
        columns += [_rounded(points[:, axis], within_mm) for axis in range(3)]
    columns.append(_rounded(table.sweep_rad, 1e-3))
    columns.append(_rounded(table.dwell_s, 1e-3))
    for column in columns:
        # one round of a multiply-and-shift mixer a column
        key = (key ^ column.view(np.uint64)) * np.uint64(0x9E3779B97F4A7C15)
        key ^= key >> np.uint64(29)
    return key


def _rounded(values: NDArray[np.float64], step: float) -> NDArray[np.int64]:
    known = np.isfinite(values) & (np.abs(values) < 1e12)
    return np.where(known, np.rint(np.where(known, values, 0.0) / step).astype(np.int64), NOTHING)


def _script(a: MotionTable, b: MotionTable, within_mm: float) -> tuple[Rows, Rows, NDArray[np.int64]]:
    """Rows of A and B side by side, -1 where one has none, and in what they differ."""
    matched_a, matched_b = align(way_keys(a, within_mm), way_keys(b, within_mm))
    left: list[Rows] = []
    right: list[Rows] = []
    # a match before the first and one behind the last motion, so that every gap lies between two matches
    ends_a = np.concatenate([[-1], matched_a, [len(a)]])
    ends_b = np.concatenate([[-1], matched_b, [len(b)]])
    gaps = np.flatnonzero((np.diff(ends_a) > 1) | (np.diff(ends_b) > 1))
    done = 0
    for gap in gaps.tolist():
        left.append(matched_a[done:gap])
        right.append(matched_b[done:gap])
        done = gap
        more_a = np.arange(ends_a[gap] + 1, ends_a[gap + 1])
        more_b = np.arange(ends_b[gap] + 1, ends_b[gap + 1])
        pairs = min(len(more_a), len(more_b))
        left += [more_a, np.full(len(more_b) - pairs, -1, np.int64)]
        right += [more_b[:pairs], np.full(len(more_a) - pairs, -1, np.int64), more_b[pairs:]]
    rows_a = np.concatenate([*left, matched_a[done:]]).astype(np.int64)
    rows_b = np.concatenate([*right, matched_b[done:]]).astype(np.int64)
    what = np.zeros(len(rows_a), np.int64)
    what[rows_b < 0] = What.ONLY_A
    what[rows_a < 0] = What.ONLY_B
    both = np.flatnonzero((rows_a >= 0) & (rows_b >= 0))
    what[both] = _differences(a, b, rows_a[both], rows_b[both], within_mm)
    return rows_a, rows_b, what


def _differences(
    a: MotionTable, b: MotionTable, rows_a: Rows, rows_b: Rows, within_mm: float
) -> NDArray[np.int64]:
    """In what pairs of motions differ."""
    other_way = a.kind[rows_a] != b.kind[rows_b]
    for name in ("start_mm", "end_mm", "centre_mm"):
        one, two = getattr(a, name)[rows_a], getattr(b, name)[rows_b]
        other_way |= ~_close(one, two, within_mm).all(axis=1)
    other_way |= np.abs(a.sweep_rad[rows_a] - b.sweep_rad[rows_b]) > 2e-3
    other_way |= np.abs(a.dwell_s[rows_a] - b.dwell_s[rows_b]) > SAME_S
    other_way |= a.is_arc[rows_a] & (a.plane[rows_a] != b.plane[rows_b])
    what = np.where(other_way, int(What.PATH), 0).astype(np.int64)
    feed_a, feed_b = a.feed_mm_min[rows_a], b.feed_mm_min[rows_b]
    at_feed = a.is_feed[rows_a] & b.is_feed[rows_b]
    what |= np.where(at_feed & ~_near(feed_a, feed_b), int(What.FEED), 0)
    what |= np.where(~_near(a.spindle_rpm[rows_a], b.spindle_rpm[rows_b]), int(What.SPEED), 0)
    for bit, name in (
        (What.DIRECTION, "spindle_dir"),
        (What.TOOL, "tool"),
        (What.COOLANT, "coolant"),
    ):
        what |= np.where(getattr(a, name)[rows_a] != getattr(b, name)[rows_b], int(bit), 0)
    return what


def _close(one: NDArray[np.float64], two: NDArray[np.float64], within: float) -> Mask:
    with np.errstate(invalid="ignore"):
        near = np.abs(one - two) <= within
    return np.asarray(near | (np.isnan(one) & np.isnan(two)))


def _near(one: NDArray[np.float64], two: NDArray[np.float64]) -> Mask:
    return np.isclose(one, two, rtol=COMPARE_SAME_SHARE, atol=1e-9, equal_nan=True)


def _stretches(
    a: MotionTable, b: MotionTable, rows_a: Rows, rows_b: Rows, what: NDArray[np.int64]
) -> tuple[tuple[Stretch, ...], int]:
    changed = np.flatnonzero(what)
    if not len(changed):
        return (), 0
    cut = np.flatnonzero((np.diff(changed) > 1) | (np.diff(what[changed]) != 0)) + 1
    begins = np.concatenate([[0], cut])
    ends = np.concatenate([cut, [len(changed)]])
    kept = []
    for begin, end in zip(
        begins[:COMPARE_STRETCHES].tolist(), ends[:COMPARE_STRETCHES].tolist(), strict=True
    ):
        part = changed[begin:end]
        in_a, in_b = rows_a[part], rows_b[part]
        kept.append(
            Stretch(
                what=What(int(what[part[0]])),
                count=len(part),
                motion_a=int(in_a[0]) if in_a[0] >= 0 else None,
                motion_b=int(in_b[0]) if in_b[0] >= 0 else None,
                lines_a=(int(a.line[in_a].min()), int(a.line[in_a].max())) if in_a[0] >= 0 else None,
                lines_b=(int(b.line[in_b].min()), int(b.line[in_b].max())) if in_b[0] >= 0 else None,
            )
        )
    return tuple(kept), len(begins)


def _own_ends(a: MotionTable, b: MotionTable) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    """Ends of all motions in part coordinates, if both programs make the same kinds of motion."""
    if len(a) != len(b) or not len(a) or not np.array_equal(a.kind, b.kind):
        return None
    own = ((a.flags | b.flags) & (FLAG_MACHINE | FLAG_HOME)) == 0
    return a.end_mm[own & a.moves], b.end_mm[own & a.moves]


def _shift(a: MotionTable, b: MotionTable, within_mm: float) -> tuple[float, float, float] | None:
    ends = _own_ends(a, b)
    if ends is None or not np.array_equal(np.isnan(ends[0]), np.isnan(ends[1])):
        return None
    shift = []
    for axis in range(3):
        moved = (ends[1] - ends[0])[:, axis]
        moved = moved[np.isfinite(moved)]
        if len(moved) and float(np.ptp(moved)) > 2 * within_mm:
            return None
        shift.append(float(np.median(moved)) if len(moved) else 0.0)
    if max(abs(value) for value in shift) <= within_mm:
        return None
    return shift[0], shift[1], shift[2]


def _scale(a: MotionTable, b: MotionTable, within_mm: float) -> float | None:
    ends = _own_ends(a, b)
    if ends is None or not (np.nan_to_num(np.abs(ends[0])) > 10 * within_mm).any():
        return None
    for factor in (INCH, 1 / INCH):
        if _close(ends[0] * factor, ends[1], within_mm * max(1.0, factor)).all():
            return factor
    return None


def _event_changes(a: Program, b: Program) -> Iterator[EventChange]:
    one = [event for event in a.events if event.kind in EVENTS]
    two = [event for event in b.events if event.kind in EVENTS]
    keys = [[_event_key(event) for event in events] for events in (one, two)]
    same = 0
    while same < min(len(one), len(two)) and keys[0][same] == keys[1][same]:
        same += 1
    if (len(one) - same) * (len(two) - same) > COMPARE_PAIRS:
        return  # too many to match; the motions show what matters
    matcher = difflib.SequenceMatcher(None, keys[0][same:], keys[1][same:], autojunk=False)
    for tag, begin_a, end_a, begin_b, end_b in matcher.get_opcodes():
        if tag != "equal":
            yield from (EventChange("A", event) for event in one[same + begin_a : same + end_a])
            yield from (EventChange("B", event) for event in two[same + begin_b : same + end_b])


def _event_key(event: Event) -> tuple[str, float | None, str]:
    value: float | None = event.value if event.value == event.value else None
    if event.kind == "spindle" and value is not None:
        value = float(np.sign(value))  # the speed is told with the motions
    return event.kind, value, event.text if event.kind == "unchecked" else ""
