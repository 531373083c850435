"""Motion tables built by hand, for tests that need no program text."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from millcalc.gcode.motions import ARC_CCW, ARC_CW, LINE, RAPID, MotionTable


def table(
    moves: Sequence[dict[str, object]], start: tuple[float, float, float] = (0.0, 0.0, 0.0)
) -> MotionTable:
    """A motion table from dictionaries (kind, to, centre, sweep ...); each starts where one ended."""
    n = len(moves)
    columns = {
        "kind": np.zeros(n, np.uint8),
        "start_mm": np.full((n, 3), np.nan),
        "end_mm": np.full((n, 3), np.nan),
        "centre_mm": np.full((n, 3), np.nan),
        "sweep_rad": np.zeros(n),
        "plane": np.full(n, 17, np.uint8),
        "length_mm": np.zeros(n),
        "feed_mm_min": np.full(n, np.nan),
        "feed_mode": np.full(n, 94, np.uint8),
        "spindle_rpm": np.full(n, 18000.0),
        "spindle_dir": np.ones(n, np.int8),
        "tool": np.ones(n, np.int32),
        "coolant": np.zeros(n, np.uint8),
        "line": np.arange(1, n + 1, dtype=np.int32),
        "call_depth": np.zeros(n, np.uint8),
        "dwell_s": np.zeros(n),
        "frame": np.zeros(n, np.uint8),
        "flags": np.zeros(n, np.uint16),
    }
    here = np.asarray(start, float)
    for i, move in enumerate(moves):
        columns["kind"][i] = move.get("kind", LINE)
        columns["start_mm"][i] = move.get("from", here)
        here = np.asarray(move["to"], float)
        columns["end_mm"][i] = here
        if columns["kind"][i] in (ARC_CW, ARC_CCW):
            columns["centre_mm"][i] = move["centre"]
            columns["sweep_rad"][i] = move["sweep"]
        columns["plane"][i] = move.get("plane", 17)
        if columns["kind"][i] != RAPID:
            columns["feed_mm_min"][i] = move.get("feed", 600.0)
        for name in ("spindle_rpm", "spindle_dir", "tool", "line", "flags", "dwell_s"):
            if name in move:
                columns[name][i] = move[name]
        chord = columns["end_mm"][i] - columns["start_mm"][i]
        columns["length_mm"][i] = np.linalg.norm(chord)
        if columns["sweep_rad"][i]:
            first, second, normal = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}[int(columns["plane"][i])]
            radius = np.hypot(*(columns["start_mm"][i] - columns["centre_mm"][i])[[first, second]])
            columns["length_mm"][i] = np.hypot(radius * columns["sweep_rad"][i], chord[normal])
    return MotionTable(**columns)  # type: ignore[arg-type]


def arc_move(
    start: Sequence[float], centre: Sequence[float], sweep: float, rise: float = 0.0, plane: int = 17
) -> dict[str, object]:
    """One arc of a given sweep from a start point; the end follows."""
    first, second, normal = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}[plane]
    s, c = np.asarray(start, float), np.asarray(centre, float)
    du, dv = s[first] - c[first], s[second] - c[second]
    end = s.copy()
    end[first] = c[first] + du * np.cos(sweep) - dv * np.sin(sweep)
    end[second] = c[second] + du * np.sin(sweep) + dv * np.cos(sweep)
    end[normal] += rise
    return {
        "kind": ARC_CCW if sweep > 0 else ARC_CW,
        "from": s,
        "to": end,
        "centre": c,
        "sweep": sweep,
        "plane": plane,
    }
