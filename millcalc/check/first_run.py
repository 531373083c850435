"""The first run after installation: a second process compiles what a check needs last, while it compiles the first.

Compiling keeps one processor busy and is kept on disk, kernel by kernel, so that each process loads what the other has
made. Nothing waits for the second process: where it is late or fails, the check compiles the kernel itself.
"""

from __future__ import annotations

import atexit
import importlib
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any, Final

import numpy as np

from millcalc.beside import processors
from millcalc.kernel_sources import PACKAGE_FOLDER
from millcalc.kernels import can_keep

Make = Callable[[], None]


def begin(*, reads: bool) -> bool:
    """Start the second process.

    reads: Whether the check will first compile the reader of large programs; else it begins with the cut.
    Returns: Whether it was started: not on a machine with one processor, nor where nothing can be kept for the other
      process or none can be started.
    """
    if processors() < 2 or not can_keep():
        return False
    surroundings = dict(os.environ)
    # -P: nothing is imported from the working folder; ours is found where this process has found it
    paths = [str(PACKAGE_FOLDER.parent), *filter(None, [surroundings.get("PYTHONPATH")])]
    surroundings["PYTHONPATH"] = os.pathsep.join(paths)
    words = [sys.executable, "-P", "-m", __name__, *(AFTER_READING if reads else AFTER_CUTTING)]
    try:
        helper = subprocess.Popen(
            words,
            env=surroundings,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    except OSError:
        return False
    atexit.register(_end, helper)
    return True


def _end(helper: subprocess.Popen[bytes]) -> None:
    """Stop the second process, if it still runs."""
    if helper.poll() is None:
        with suppress(OSError):
            helper.terminate()
            helper.wait()


def _floats(*shape: int) -> Any:
    return np.zeros(shape)


def _cut() -> tuple[Any, ...]:
    """Motions, stock, cutters and results of no size, as the walk takes them."""
    from millcalc.stock.engagement_kernels import NUMBER_COLUMNS, Output
    from millcalc.stock.path_kernels import Columns
    from millcalc.stock.removal_kernels import Field

    bytes_, axes = np.zeros(1, np.uint8), _floats(1, 3)
    cols = Columns(bytes_, axes, axes, axes, _floats(1), bytes_, np.zeros(1, np.int32))
    field = Field(np.zeros((1, 1), np.float32), np.zeros((1, 1), np.int32), _floats(20))
    out = Output(np.zeros((1, NUMBER_COLUMNS), np.float32), _floats(1), bytes_, _floats(1, 6))
    return cols, field, out


def _state() -> tuple[Any, Any]:
    """Window of travel and its bins."""
    from millcalc.stock.removal_kernels import BINS, WINDOW_COLUMNS

    return _floats(WINDOW_COLUMNS), np.zeros(BINS + 1, np.uint8)


def _steps() -> None:
    """What the walk calls at each step: kernels that Python cannot call."""
    from millcalc.stock import removal_kernels, walk_kernels

    typeof: Any = importlib.import_module("numba").typeof
    _, field, out = _cut()
    window, bins = _state()
    row, spans = _floats(removal_kernels.SEGMENT_COLUMNS), np.zeros((4, 1), np.int32)
    calls: list[tuple[Any, tuple[Any, ...]]] = [
        (removal_kernels.cut_any, (field, row, row, 0, window, bins)),
        (removal_kernels.cut_flat, (field, 0.0, row, 0, window, bins, spans)),
        (walk_kernels.touch, (field, row, row, out, 0)),
    ]
    for kernel, arguments in calls:
        kernel.compile(tuple(typeof(value) for value in arguments))


def _walk() -> None:
    from millcalc.stock.shape_kernels import SHAPE_COLUMNS
    from millcalc.stock.walk_kernels import finish, walk

    cols, field, out = _cut()
    window, bins = _state()
    shapes = _floats(1, SHAPE_COLUMNS)
    walk(cols, field, shapes, out, window, bins, 0, 0)
    finish(field, shapes, out, window, bins, 0)


def _distances() -> None:
    from millcalc.preflight.geometry_kernels import distances

    bytes_, ends = np.zeros(0, np.uint8), _floats(0, 3)
    distances(bytes_, bytes_, (ends, ends, ends), _floats(0), _floats(0), (0.0,) * 4, 0.0, _floats(0, 2))


def _feeds() -> None:
    from millcalc.preflight.feed_kernels import joint_speeds, motion_times

    none = _floats(0)
    joint_speeds(none, none, none, none)
    motion_times(none, none, none, none, none)


def _regions() -> None:
    from millcalc.stock.grid import Grid, Region, straighten
    from millcalc.stock.morphology import boxes, distance, label

    mask = np.eye(2, dtype=bool)
    boxes(*label(mask))
    distance(mask)
    whole = Region(0.0, 1.0, 0.0, 1.0)
    straighten(Grid(whole, whole, 1.0, 0.0, 0.0, 1, 1, 0.0, 1.0), np.zeros((1, 1), np.float32))


def _pieces() -> None:
    from millcalc.stock.pieces_kernels import OUTER, add_back, join_remaining

    through, part = np.zeros((1, 1), np.int32), np.full(1, -1, np.int8)
    parent, size = np.arange(1 + OUTER, dtype=np.int32), np.zeros(1 + OUTER, np.int32)
    held, stamp = np.zeros(1 + OUTER, np.uint8), np.zeros(1 + OUTER, np.int32)
    join_remaining(through, 1, part, parent, size, held)
    add_back(through, np.zeros(0, np.int64), part, parent, size, held, stamp, np.zeros((1, 3), np.int64))


PARTS: Final[dict[str, Make]] = {
    "steps": _steps,
    "walk": _walk,
    "pieces": _pieces,
    "regions": _regions,
    "feeds": _feeds,
    "distances": _distances,
}
# The check walks from the first to the last; what it comes to while the other is at it, is compiled twice.
AFTER_CUTTING: Final = ("steps", "distances", "regions", "feeds", "pieces")
AFTER_READING: Final = ("walk", "distances", "regions", "feeds", "pieces")


def main(parts: Sequence[str]) -> None:
    """Compile and keep some kernels.

    parts: Keys of ``PARTS``, in the order in which they are made.
    """
    for part in parts:
        PARTS[part]()


if __name__ == "__main__":
    main(sys.argv[1:])
