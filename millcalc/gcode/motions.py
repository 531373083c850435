"""The motion table: one row a motion, structure of arrays.

Coordinates
-----------
``start_mm``, ``end_mm`` and ``centre_mm`` are *part coordinates*: what the first work offset in use
(G54 unless the program says otherwise) shows with no G92 shift and no tool length offset, in mm.
A NaN coordinate is an axis whose position is unknown at that moment.
``frame`` names the row's work frame: ``Program.frames[frame].shift_mm`` is what must be subtracted from
part coordinates to get the number the program's own words mean; ``Program.machine_origin_mm`` added to
part coordinates gives machine coordinates (NaN where unknown).
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

# motion kinds
RAPID, LINE, ARC_CW, ARC_CCW, DWELL, PROBE = 0, 1, 2, 3, 4, 5
KIND_NAMES = ("rapid", "line", "arc cw", "arc ccw", "dwell", "probe")

# flag bits
FLAG_MACHINE = 1  # target given in machine coordinates (G53)
FLAG_HOME = 2  # move to a stored machine point (G28/G30)
FLAG_ROTARY = 4  # the block moves a rotary axis, which is not checked
FLAG_CYCLE = 8  # made by a canned cycle
FLAG_COMP_LEFT = 16  # cutter radius compensation left of the path (G41)
FLAG_COMP_RIGHT = 32  # right of the path (G42)
FLAG_OPTIONAL = 64  # from a block-delete line
FLAG_FEED_UNKNOWN = 128  # no feed was in force
FLAG_UNITS_UNKNOWN = 256  # no unit word before this motion; millimetres assumed
FLAG_MODE_UNKNOWN = 512  # no distance mode before this motion; absolute assumed

SPINDLE_UNKNOWN = 2


@dataclass(frozen=True)
class MotionTable:
    """Columnar motions in program order; every array has one entry (or row) per motion.

    kind: RAPID, LINE, ARC_CW, ARC_CCW, DWELL or PROBE [-].
    start_mm, end_mm: Ends in part coordinates; NaN where unknown [mm].
    centre_mm: Arc centre in part coordinates, NaN for other motions [mm].
    sweep_rad: Signed sweep of an arc about the plane's axis (ccw positive), full turns included; 0
      otherwise [rad].
    plane: 17, 18 or 19 [-].
    length_mm: Path length along the helix or line, NaN where an end is unknown [mm].
    feed_mm_min: Commanded feed along the path, NaN for rapids, dwells and unknown feed [mm/min].
    feed_mode: 93, 94 or 95 [-].
    spindle_rpm: Last S word, NaN before the first [rev/min].
    spindle_dir: 1 clockwise, -1 counter-clockwise, 0 off, SPINDLE_UNKNOWN [-].
    tool: Tool number in the spindle, -1 unknown [-].
    coolant: Bit 1 mist, bit 2 flood [-].
    line: Source line, 1-based [-].
    call_depth: Depth of subprogram calls [-].
    dwell_s: Duration of a dwell, 0 otherwise [s].
    frame: Index into ``Program.frames`` [-].
    flags: FLAG_* bits [-].
    """

    kind: NDArray[np.uint8]
    start_mm: NDArray[np.float64]
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

    def __len__(self) -> int:
        return len(self.kind)

    @property
    def nbytes(self) -> int:
        """Memory of all columns [byte]."""
        return sum(getattr(self, column.name).nbytes for column in fields(self))

    @property
    def is_arc(self) -> NDArray[np.bool_]:
        """Mask (n,) of the arcs."""
        return np.asarray((self.kind == ARC_CW) | (self.kind == ARC_CCW))

    def of_arcs(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Centres and sweeps side by side in memory, as kernels take them; without content where there is no arc."""
        if self.is_arc.any():
            return np.ascontiguousarray(self.centre_mm), np.ascontiguousarray(self.sweep_rad)
        return np.empty((len(self), 3)), np.empty(len(self))

    @property
    def is_feed(self) -> NDArray[np.bool_]:
        """Mask (n,) of motions at feed rate: lines, arcs and probes."""
        return np.asarray((self.kind == LINE) | self.is_arc | (self.kind == PROBE))

    @property
    def moves(self) -> NDArray[np.bool_]:
        """Mask (n,) of everything but dwells."""
        return np.asarray(self.kind != DWELL)
