"""What a removal leaves: the stock, pieces that come loose, thin webs, and jumps of the engagement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


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
