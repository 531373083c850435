"""What the search for hold-downs gives: places, verdicts, pieces, and a proposal."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.job.models import Screw


@dataclass(frozen=True)
class Nearest:
    """What comes nearest to a place.

    body: ``cutter``, ``collet nut`` and so on; empty when nothing comes down to the place.
    gap_mm: From its edge to the edge of what stands there; negative where they overlap; None when nothing
      comes down [mm].
    need_mm: Gap that is to be kept from it [mm].
    line: Line of the program [-].
    at_mm: Where the tip is then [mm].
    """

    body: str
    gap_mm: float | None
    need_mm: float
    line: int | None
    at_mm: tuple[float, float, float] | None

    @property
    def spare_mm(self) -> float | None:
        """Gap beyond what is to be kept [mm]; None when nothing comes down to the place."""
        return None if self.gap_mm is None else self.gap_mm - self.need_mm


@dataclass(frozen=True)
class Move:
    """A move that clears something.

    dx_mm, dy_mm: The move [mm].
    to_mm: x, y after it; of a clamp its middle [mm].
    until_mm: Farthest coordinate along the same way up to which it stays clear; None for a move along no
      axis [mm].
    """

    dx_mm: float
    dy_mm: float
    to_mm: tuple[float, float]
    until_mm: float | None = None


@dataclass(frozen=True)
class Verdict:
    """A screw or clamp of the job.

    name: Its name.
    kind: ``screw`` or ``clamp``.
    at_mm: x, y; of a clamp its middle [mm].
    nearest: What leaves it the least room.
    clear: Whether everything keeps its distance.
    smallest: Smallest move in any direction that clears it; None when it is clear or there is none.
    along: Smallest moves along one axis that clear it, shortest first.
    notes: What else is to be said.
    holds: Whether it is said to hold the work.
    """

    name: str
    kind: str
    at_mm: tuple[float, float]
    nearest: Nearest
    clear: bool
    smallest: Move | None = None
    along: tuple[Move, ...] = ()
    notes: tuple[str, ...] = ()
    holds: bool = True


@dataclass(frozen=True)
class Proposed:
    """A screw of the proposal.

    screw: As it would stand in the job file.
    nearest: What leaves it the least room.
    piece: Index of the piece it holds [-].
    given: Whether it is the job's own, kept.
    in_part: Whether it stands inside a cut outline, not in the rim of the stock.
    """

    screw: Screw
    nearest: Nearest
    piece: int
    given: bool
    in_part: bool


@dataclass(frozen=True)
class Piece:
    """A piece of material that is left at the end, and what holds it.

    area_mm2: Plan area [mm2].
    size_mm: Extents in x and y [mm].
    at_mm: A point inside [mm].
    rim: Whether it keeps a part of the stock's edge.
    places: Places found in it where a screw can stand [-].
    screws: Screws of the proposal in it, kept ones included [-].
    clamped: Whether a clamp of the job holds it.
    load_n, holds_n: Pull that its most loaded screw would need, and what one holds with the safety factor;
      None where not computed [N].
    turns: Whether a single screw holds it, about which it can turn.
    by: Tape, vacuum, vice and the like that hold it, in words.
    """

    area_mm2: float
    size_mm: tuple[float, float]
    at_mm: tuple[float, float]
    rim: bool
    places: int
    screws: int
    clamped: bool
    load_n: float | None = None
    holds_n: float | None = None
    turns: bool = False
    by: str = ""

    @property
    def held(self) -> bool:
        """Whether something holds it, and the computed load does not exceed what that holds."""
        enough = self.load_n is None or self.holds_n is None or self.load_n <= self.holds_n
        return self.clamped or (self.screws > 0 and enough)


@dataclass(frozen=True)
class ClampRun:
    """A stretch of an edge of the stock along which a clamp can stand.

    edge: ``front``, ``back``, ``left`` or ``right``.
    low_mm, high_mm: First and last place of the clamp's middle along that edge [mm].
    """

    edge: str
    low_mm: float
    high_mm: float


@dataclass(frozen=True)
class PlaceMap:
    """Room for the screw on a grid of places over the stock.

    x_mm: Places across [mm].
    y_mm: Places along, ascending [mm].
    spare_mm: Least room beyond what is to be kept, exact at each place; infinity where nothing comes down
      [mm].
    body: Which body leaves the least room, index into `bodies`; -1 where nothing comes down [-].
    line: Line of the program where it does; 0 where nothing comes down [-].
    kind: 0 cut through, 1 in the rim of the stock, 2 inside a cut outline [-].
    blocked: Whether the stock's edge, a clamp or a kept screw is in the way [-].
    bodies: Names of the bodies.
    """

    x_mm: NDArray[np.float64]
    y_mm: NDArray[np.float64]
    spare_mm: NDArray[np.float64]
    body: NDArray[np.intp]
    line: NDArray[np.int64]
    kind: NDArray[np.uint8]
    blocked: NDArray[np.bool_]
    bodies: tuple[str, ...]


@dataclass(frozen=True)
class HoldDown:
    """The whole answer.

    verdicts: The job's screws and clamps.
    screw: The screw that is proposed, place left at 0.
    assumed: What was assumed, in words.
    proposal: Screws that are kept and new ones; empty when none could be placed.
    pieces: What is left at the end, the largest first.
    gone: Pieces that come free and are milled away later: x, y [mm] and line [-] of each.
    span_mm: Largest distance from a cut to the nearest screw or clamp [mm].
    span_limit_mm: What it is to be kept under in a thin plate; None for a thick one [mm].
    safety: Safety factor on the withdrawal [-].
    kept_mm, holder_kept_mm: Distance kept from the cutter, and from nut, body and shoe [mm].
    friction, panel_share: Estimates: friction under tightened heads, and what a board holds of what solid
      wood of its density does [-].
    load_n, holds_n: Pull that the most loaded screw would need while the work is still one, and what one
      holds [N].
    map: Room over the stock.
    finest_mm: Places closer together than this were not looked at [mm].
    clamp_mm: Width, reach and height of the clamp looked for [mm].
    clamp_runs: Where it can stand.
    others: What the cut asks of tape, vacuum, vice and the like, in words.
    problems: What does not hold, in words, each with what to do.
    not_checked: What could not be looked at, in words.
    """

    verdicts: tuple[Verdict, ...]
    screw: Screw
    assumed: tuple[str, ...]
    proposal: tuple[Proposed, ...]
    pieces: tuple[Piece, ...]
    gone: tuple[tuple[float, float, int], ...]
    span_mm: float | None
    span_limit_mm: float | None
    safety: float
    kept_mm: float
    holder_kept_mm: float
    friction: float
    panel_share: float
    load_n: float | None
    holds_n: float | None
    map: PlaceMap
    finest_mm: float
    clamp_mm: tuple[float, float, float]
    clamp_runs: tuple[ClampRun, ...]
    others: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()

    @property
    def fine(self) -> bool:
        """Whether every given screw and clamp is clear and the proposal has no problem."""
        return all(verdict.clear for verdict in self.verdicts) and not self.problems
