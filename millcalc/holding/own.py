"""The job's own screws and clamps: how each stands, and which screws the proposal keeps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.holding.judge import Bench, clamp_areas, head_mm, judge_clamp, judge_screw
from millcalc.holding.regions import Regions
from millcalc.holding.result import Proposed, Verdict
from millcalc.job.models import Screw
from millcalc.job.setup import Box, Keepout

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class OwnHolds:
    """The job's own screws and clamps.

    bodies, screws: Every screw as a body, and as the job file has it.
    boxes: The clamps.
    verdicts: Of the screws, then of the clamps.
    kept: Screws that the proposal keeps.
    piece: Piece under the head of each kept screw; 0 is the sheet.
    discs: x, y and head radius of the screws that stay standing, (k, 3) [mm].
    clamped: Pieces that a clamp holds.
    """

    bodies: tuple[Keepout, ...]
    screws: tuple[Screw, ...]
    boxes: tuple[Box, ...]
    verdicts: tuple[Verdict, ...]
    kept: list[int]
    piece: NDArray[np.intp]
    discs: Floats
    clamped: set[int]

    def kept_mm(self, count: int) -> list[Floats]:
        """Kept screws of each piece [mm].

        count: Number of pieces [-].
        Returns: Places, (k, 2) each.
        """
        at = [(self.bodies[k].x_mm, self.bodies[k].y_mm) for k in self.kept]
        places = np.array(at, dtype=np.float64).reshape(-1, 2)
        return [places[self.piece == index] for index in range(count)]

    def proposed(self) -> list[Proposed]:
        """The kept screws as a part of the proposal."""
        return [
            Proposed(self.screws[k], self.verdicts[k].nearest, int(piece), True, False)
            for k, piece in zip(self.kept, self.piece, strict=True)
        ]


def own_holds(bench: Bench, regions: Regions, *, fresh: bool) -> OwnHolds:
    """Judge the job's own screws and clamps.

    bench: The program's distances.
    regions: The pieces that are left.
    fresh: Whether no screw is to be kept.
    Returns: What stands, and which screws hold and are clear.
    """
    setup = bench.setup
    bodies = setup.screws or ()
    screws = [judge_screw(bench, k, regions) for k in range(len(bodies))]
    clamps = [judge_clamp(bench, k) for k in range(len(setup.clamps or ()))]
    under = [regions.under_head(s.x_mm, s.y_mm, head_mm(s)) for s in bodies]
    kept = [k for k, v in enumerate(screws) if v.clear and v.holds and under[k] >= 0 and not fresh]
    stay = [(s.x_mm, s.y_mm, head_mm(s)) for k, s in enumerate(bodies) if k in kept or not s.holds]
    return OwnHolds(
        bodies,
        setup.job.screws or (),
        tuple(box for _, box in setup.clamps or ()),
        (*screws, *(verdict for verdict in clamps if verdict is not None)),
        kept,
        np.array([under[k] for k in kept], np.intp),
        np.array(stay, dtype=np.float64).reshape(-1, 3),
        clamp_areas(setup.clamps, regions),
    )
