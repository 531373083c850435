"""The result of a removal simulation: one entry a motion, and the stock that is left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SIDE_NONE, SIDE_CLIMB, SIDE_CONVENTIONAL, SIDE_SLOT = 0, 1, 2, 3
SIDE_NAMES = ("none", "climb", "conventional", "slot")

# why a motion was not simulated
RAN, NOT_A_MOVE, POSITION_UNKNOWN, TOOL_UNKNOWN = 0, 1, 2, 3
SKIP_NAMES = ("simulated", "no movement", "position unknown", "cutter unknown")


@dataclass(frozen=True)
class Heightfield:
    """What is left of the stock: height of the material over a grid of square cells, part coordinates.

    x0_mm, y0_mm: Centre of cell [0, 0] [mm].
    cell_mm: Cell size [mm].
    height_mm: Top of the material; ``floor_mm`` where it is cut through [mm].
    floor_mm: Bottom of the stock [mm].
    top_mm: Top of the uncut stock [mm].
    """

    x0_mm: float
    y0_mm: float
    cell_mm: float
    height_mm: NDArray[np.float32]
    floor_mm: float
    top_mm: float

    @property
    def volume_mm3(self) -> float:
        """Volume of the material that is left [mm3]."""
        return float(np.sum(self.height_mm - np.float32(self.floor_mm), dtype=np.float64)) * self.cell_mm**2


@dataclass(frozen=True)
class LoosePiece:
    """A piece that comes free of what holds it: where, when and how large.

    motion, line: Motion and source line at which it comes free [-].
    place_mm: A point inside the piece: x, y, z [mm].
    area_mm2: Plan area [mm2].
    size_mm: Extents in x and y [mm].
    small: Smaller than about one cutter diameter across.
    """

    motion: int
    line: int
    place_mm: tuple[float, float, float]
    area_mm2: float
    size_mm: tuple[float, float]
    small: bool = False


@dataclass(frozen=True)
class EngagementJump:
    """A place where the cutter is suddenly engaged further than just before.

    motion, line: Motion and source line in which the jump begins [-].
    place_mm: Where: x, y, z of the tip [mm].
    before_rad, after_rad: Engagement angle just before, and the greatest one before it falls again [rad]; 0
      before for an entry from air.
    """

    motion: int
    line: int
    place_mm: tuple[float, float, float]
    before_rad: float
    after_rad: float


@dataclass(frozen=True)
class ThinWeb:
    """Material that is narrow or thin when the program has ended: a tab, a web between cuts, a skin.

    kind: ``tab``: a lowered bridge left in a cut that goes through; ``web``: another narrow piece that
      joins two regions of the plate; ``wall``: stands between two cuts that do not go through; ``skin``: a
      thin floor.
    place_mm: Its narrowest (or thinnest) place: x, y, z of its top [mm].
    width_mm: Width at the narrowest place; of a tab: its length along the cut [mm].
    thickness_mm: Thickness left in a tab, web or skin, height of a wall above the floor beside it [mm].
    area_mm2: Plan area of the thin region [mm2].
    """

    kind: str
    place_mm: tuple[float, float, float]
    width_mm: float
    thickness_mm: float
    area_mm2: float


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
