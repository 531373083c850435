"""The result of a removal simulation: one entry a motion, and the stock that is left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.left import EngagementJump, Heightfield, LoosePiece, ThinWeb

SIDE_NONE, SIDE_CLIMB, SIDE_CONVENTIONAL, SIDE_SLOT = 0, 1, 2, 3
SIDE_NAMES = ("none", "climb", "conventional", "slot")

# why a motion was not simulated
RAN, NOT_A_MOVE, POSITION_UNKNOWN, TOOL_UNKNOWN = 0, 1, 2, 3
SKIP_NAMES = ("simulated", "no movement", "position unknown", "cutter unknown")


@dataclass(frozen=True)
class Removal:
    """What the cutter really bites, one entry a motion.

    axial_depth_mm: Greatest axial depth of cut: height of the material met above the tip or the stock
      bottom [mm].
    radial_width_mm: Greatest radial width of cut [mm].
    engagement_rad: Greatest engagement angle; full turn for a plunge into solid [rad].
    engagement_start_rad: Engagement angle at the start of the motion [rad].
    side: SIDE_* for a clockwise spindle, where the engagement is greatest [-].
    volume_mm3: Removed volume [mm3].
    peak_place_mm: Where the greatest engagement occurs; NaN where nothing is cut [mm].
    shank_contact_mm, holder_contact_mm: Greatest depth by which shank or collet nut overlaps the stock; 0
      for none [mm].
    bed_depth_mm: Greatest depth below the stock bottom [mm].
    final: The stock after the last motion.
    loose: Pieces that come free, in the order in which they do.
    cell_mm: Cell size used [mm].
    depth_error_mm, width_error_mm: Bound of the error that follows from the cell size [mm].
    section_mm2: Greatest removed cross-section: volume a millimetre of lateral travel [mm2].
    skip_reason: RAN, NOT_A_MOVE, POSITION_UNKNOWN or TOOL_UNKNOWN [-].
    jumps: Places where the engagement jumps, in program order.
    jumps_left_out: Further jumps beyond the number that is kept [-].
    webs: Thin webs, walls and skins at the end.
    held_by: What was taken to hold the stock, in words.
    slivers: Pieces too small to tell from the cell size, not listed in `loose` [-].
    """

    axial_depth_mm: NDArray[np.float32]
    radial_width_mm: NDArray[np.float32]
    engagement_rad: NDArray[np.float32]
    engagement_start_rad: NDArray[np.float32]
    side: NDArray[np.uint8]
    volume_mm3: NDArray[np.float64]
    peak_place_mm: NDArray[np.float32]
    shank_contact_mm: NDArray[np.float32]
    holder_contact_mm: NDArray[np.float32]
    bed_depth_mm: NDArray[np.float32]
    final: Heightfield
    loose: tuple[LoosePiece, ...]
    cell_mm: float
    depth_error_mm: float
    width_error_mm: float
    section_mm2: NDArray[np.float32]
    skip_reason: NDArray[np.uint8]
    jumps: tuple[EngagementJump, ...] = ()
    jumps_left_out: int = 0
    webs: tuple[ThinWeb, ...] = ()
    held_by: str = ""
    slivers: int = 0

    @property
    def skipped(self) -> NDArray[np.bool_]:
        """Mask (n,) of the movements that could not be simulated."""
        return np.asarray(self.skip_reason >= POSITION_UNKNOWN)

    @property
    def cuts(self) -> NDArray[np.bool_]:
        """Mask (n,) of the motions that remove material."""
        return np.asarray(self.volume_mm3 > 0)
