"""What the search for hold-downs gives: places, verdicts, pieces, and a proposal."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.job.models import Screw


@dataclass(frozen=True)
class Nearest:
    """What comes nearest to a place.

    Attributes
    ----------
    body : str
        ``cutter``, ``collet nut`` and so on; empty when nothing comes down to the place.
    gap_mm : float or None
        From its edge to the edge of what stands there; negative where they overlap; None when nothing comes
        down [mm].
    need_mm : float
        Gap that is to be kept from it [mm].
    line : int or None
        Line of the program [-].
    at_mm : tuple of float or None
        Where the tip is then [mm].
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

    Attributes
    ----------
    dx_mm, dy_mm : float
        The move [mm].
    to_mm : tuple of float
        x, y after it; of a clamp its middle [mm].
    until_mm : float or None
        Farthest coordinate along the same way up to which it stays clear; None for a move along no axis [mm].
    """

    dx_mm: float
    dy_mm: float
    to_mm: tuple[float, float]
    until_mm: float | None = None


@dataclass(frozen=True)
class Verdict:
    """A screw or clamp of the job.

    Attributes
    ----------
    name : str
        Its name.
    kind : str
        ``screw`` or ``clamp``.
    at_mm : tuple of float
        x, y; of a clamp its middle [mm].
    nearest : Nearest
        What leaves it the least room.
    clear : bool
        Whether everything keeps its distance.
    smallest : Move or None
        Smallest move in any direction that clears it; None when it is clear or there is none.
    along : tuple of Move
        Smallest moves along one axis that clear it, shortest first.
    notes : tuple of str
        What else is to be said.
    holds : bool
        Whether it is said to hold the work.
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

    Attributes
    ----------
    screw : Screw
        As it would stand in the job file.
    nearest : Nearest
        What leaves it the least room.
    piece : int
        Index of the piece it holds [-].
    given : bool
        Whether it is the job's own, kept.
    in_part : bool
        Whether it stands inside a cut outline, not in the rim of the stock.
    """

    screw: Screw
    nearest: Nearest
    piece: int
    given: bool
    in_part: bool


@dataclass(frozen=True)
class Piece:
    """A piece of material that is left at the end, and what holds it.

    Attributes
    ----------
    area_mm2 : float
        Plan area [mm2].
    size_mm : tuple of float
        Extents in x and y [mm].
    at_mm : tuple of float
        A point inside [mm].
    rim : bool
        Whether it keeps a part of the stock's edge.
    places : int
        Places found in it where a screw can stand [-].
    screws : int
        Screws of the proposal in it, kept ones included [-].
    clamped : bool
        Whether a clamp of the job holds it.
    load_n, holds_n : float or None
        Pull that its most loaded screw would need, and what one holds with the safety factor; None where not
        computed [N].
    turns : bool
        Whether a single screw holds it, about which it can turn.
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

    @property
    def held(self) -> bool:
        """Whether something holds it, and the computed load does not exceed what that holds."""
        enough = self.load_n is None or self.holds_n is None or self.load_n <= self.holds_n
        return self.clamped or (self.screws > 0 and enough)


@dataclass(frozen=True)
class ClampRun:
    """A stretch of an edge of the stock along which a clamp can stand.

    Attributes
    ----------
    edge : str
        ``front``, ``back``, ``left`` or ``right``.
    low_mm, high_mm : float
        First and last place of the clamp's middle along that edge [mm].
    """

    edge: str
    low_mm: float
    high_mm: float


@dataclass(frozen=True)
class PlaceMap:
    """Room for the screw on a grid of places over the stock.

    Attributes
    ----------
    x_mm : float64 (nx,)
        Places across [mm].
    y_mm : float64 (ny,)
        Places along, ascending [mm].
    spare_mm : float64 (ny, nx)
        Least room beyond what is to be kept, exact at each place; infinity where nothing comes down [mm].
    body : int (ny, nx)
        Which body leaves the least room, index into `bodies`; -1 where nothing comes down [-].
    line : int (ny, nx)
        Line of the program where it does; 0 where nothing comes down [-].
    kind : uint8 (ny, nx)
        0 cut through, 1 in the rim of the stock, 2 inside a cut outline [-].
    blocked : bool (ny, nx)
        Whether the stock's edge, a clamp or a kept screw is in the way [-].
    bodies : tuple of str
        Names of the bodies.
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

    Attributes
    ----------
    verdicts : tuple of Verdict
        The job's screws and clamps.
    screw : Screw
        The screw that is proposed, place left at 0.
    assumed : tuple of str
        What was assumed, in words.
    proposal : tuple of Proposed
        Screws that are kept and new ones; empty when none could be placed.
    pieces : tuple of Piece
        What is left at the end, the largest first.
    gone : tuple of tuple
        Pieces that come free and are milled away later: x, y [mm] and line [-] of each.
    span_mm : float or None
        Largest distance from a cut to the nearest screw or clamp [mm].
    span_limit_mm : float or None
        What it is to be kept under in a thin plate; None for a thick one [mm].
    safety : float
        Safety factor on the withdrawal [-].
    load_n, holds_n : float or None
        Pull that the most loaded screw would need while the work is still one, and what one holds [N].
    map : PlaceMap
        Room over the stock.
    finest_mm : float
        Places closer together than this were not looked at [mm].
    clamp_mm : tuple of float
        Width, reach and height of the clamp looked for [mm].
    clamp_runs : tuple of ClampRun
        Where it can stand.
    problems : tuple of str
        What does not hold, in words, each with what to do.
    not_checked : tuple of str
        What could not be looked at, in words.
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
    load_n: float | None
    holds_n: float | None
    map: PlaceMap
    finest_mm: float
    clamp_mm: tuple[float, float, float]
    clamp_runs: tuple[ClampRun, ...]
    problems: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()

    @property
    def fine(self) -> bool:
        """Whether every given screw and clamp is clear and the proposal has no problem."""
        return all(verdict.clear for verdict in self.verdicts) and not self.problems
