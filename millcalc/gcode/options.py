"""What the person or the job tells the reader beforehand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from millcalc.gcode.tuning import MAX_LOOP_BLOCKS, MAX_LOOP_JUMPS, MAX_MOTIONS

Point = tuple[float, float, float]


@dataclass(frozen=True)
class ReadOptions:
    """Options of reading; everything may be left out.

    profile: Name of the dialect profile.
    block_delete: True when the block-delete switch is on: lines beginning with / are skipped.
    start_mm: Where the tool tip is before the first line, in part coordinates; NaN or None where unknown
      [mm].
    work_offsets_mm: Work offsets in machine coordinates by G number (54, 55 ... 59.3) [mm].
    tool_lengths_mm: Tool length offsets by H number [mm].
    tool_diameters_mm: Cutter diameters by D or tool number [mm].
    home_mm, second_home_mm: The points of G28 and G30 in machine coordinates [mm].
    max_motions: Reading stops past so many motions [-].
    max_jumps, max_blocks: Reading stops past so many jumps back and calls, and so many blocks read again
      [-].
    force_slow, force_fast: Use only the plain reader; use the compiled one also for a small file.
    """

    profile: str = "any"
    block_delete: bool = False
    start_mm: Point | None = None
    work_offsets_mm: Mapping[float, Point] = field(default_factory=dict)
    tool_lengths_mm: Mapping[int, float] = field(default_factory=dict)
    tool_diameters_mm: Mapping[int, float] = field(default_factory=dict)
    home_mm: Point | None = None
    second_home_mm: Point | None = None
    max_motions: int = MAX_MOTIONS
    max_jumps: int = MAX_LOOP_JUMPS
    max_blocks: int = MAX_LOOP_BLOCKS
    force_slow: bool = False
    force_fast: bool = False
