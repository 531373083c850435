"""The result of a removal simulation: one entry a motion, and the stock that is left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SIDE_NONE, SIDE_CLIMB, SIDE_CONVENTIONAL, SIDE_SLOT = 0, 1, 2, 3


@dataclass(frozen=True)
class Heightfield:
    """What is left of the stock: height of the material over a grid of square cells, part coordinates.

    Attributes
    ----------
    x0_mm, y0_mm : float
        Centre of cell [0, 0] [mm].
    cell_mm : float
        Cell size [mm].
    height_mm : float32 (ny, nx)
        Top of the material; ``floor_mm`` where it is cut through [mm].
    floor_mm : float
        Bottom of the stock [mm].
    top_mm : float
        Top of the uncut stock [mm].
    """

    x0_mm: float
    y0_mm: float
    cell_mm: float
    height_mm: NDArray[np.float32]
    floor_mm: float
    top_mm: float


@dataclass(frozen=True)
class LoosePiece:
    """A piece that comes free of what holds it: where, when and how large.

    Attributes
    ----------
    motion, line : int
        Motion and source line at which it comes free [-].
    place_mm : tuple of float
        A point inside the piece: x, y, z [mm].
    area_mm2 : float
        Plan area [mm2].
    size_mm : tuple of float
        Extents in x and y [mm].
    """

    motion: int
    line: int
    place_mm: tuple[float, float, float]
    area_mm2: float
    size_mm: tuple[float, float]


@dataclass(frozen=True)
class Removal:
    """What the cutter really bites, one entry a motion.

    Attributes
    ----------
    axial_depth_mm : float32 (n,)
        Greatest axial depth of cut [mm].
    radial_width_mm : float32 (n,)
        Greatest radial width of cut [mm].
    engagement_rad : float32 (n,)
        Greatest engagement angle [rad].
    engagement_start_rad : float32 (n,)
        Engagement angle at the start of the motion [rad].
    side : uint8 (n,)
        SIDE_* for a clockwise spindle [-].
    volume_mm3 : float64 (n,)
        Removed volume [mm3].
    peak_place_mm : float32 (n, 3)
        Where the greatest engagement occurs [mm].
    shank_contact_mm, holder_contact_mm : float32 (n,)
        Greatest depth by which shank or collet nut overlaps the stock; 0 for none [mm].
    bed_depth_mm : float32 (n,)
        Greatest depth below the stock bottom [mm].
    final : Heightfield
        The stock after the last motion.
    loose : tuple of LoosePiece
        Pieces that come free.
    cell_mm : float
        Cell size used [mm].
    depth_error_mm, width_error_mm : float
        Bound of the error that follows from the cell size [mm].
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
