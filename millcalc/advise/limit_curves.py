"""How deep each limit lets a cut go, over something else: what the operating map and the width map share."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def crossing(depths: Floats, use: Floats) -> Floats:
    """Smallest depth at which a use passes 1, for each row; the last depth where it does not.

    depths: Depths tried, rising [mm].
    use: Use of a limit by row and depth [-].
    Returns: One depth a row [mm].
    """
    over = use > 1.0
    at = np.where(over.any(axis=1), over.argmax(axis=1), len(depths) - 1)
    rows = np.arange(len(use))
    before = np.maximum(at - 1, 0)
    u0, u1 = use[rows, before], use[rows, at]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(u1 > u0, (1.0 - u0) / (u1 - u0), 1.0)
    crossing = depths[before] + np.clip(share, 0.0, 1.0) * (depths[at] - depths[before])
    # below the smallest depth tried, by proportion
    return np.asarray(np.where(over[:, 0], depths[0] / np.maximum(use[:, 0], 1.0), crossing))


def governing(depths_mm: dict[str, Floats], ceiling_mm: Floats) -> list[str]:
    """Titles of the limits that are the lowest somewhere, the most frequent first, then the others.

    depths_mm: By title of the limit: the depth at which its usable share is used up [mm].
    ceiling_mm: Depth at which the first is used up; 0 where none is allowed [mm].
    Returns: All titles.
    """
    titles = list(depths_mm)
    first = np.argmin(np.vstack([depths_mm[t] for t in titles]), axis=0)[ceiling_mm > 0]
    count = np.bincount(first, minlength=len(titles))
    return [titles[i] for i in np.argsort(-count, kind="stable")]
