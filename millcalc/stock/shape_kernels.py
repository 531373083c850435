"""Kernels over one cutter shape (float64 row of SHAPE_COLUMNS numbers): height, radius, swept lower envelope."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import inner_kernel, kernel

RADIUS, FLAT, CORNER, JOIN, JOIN_HEIGHT, CONE, FLUTE, SHANK_RADIUS, STICKOUT, NUT_RADIUS, WINDOW = range(11)
SHAPE_COLUMNS = 11  # WINDOW: travel over which engagement is measured with this cutter
BISECTIONS = 40  # halvings of a bracket at most a diameter wide: far below the resolution of float32


@kernel
def profile_height_mm(shape: NDArray[np.float64], radius_mm: float) -> float:
    # height of the cutting surface above the tip at a distance from the axis
    if radius_mm <= shape[FLAT]:
        return 0.0
    if radius_mm <= shape[JOIN]:
        across = radius_mm - shape[FLAT]
        rest = shape[CORNER] * shape[CORNER] - across * across
        if rest <= 0.0:
            return float(shape[CORNER])
        return float(shape[CORNER] - math.sqrt(rest))
    return float(shape[JOIN_HEIGHT] + shape[CONE] * (radius_mm - shape[JOIN]))


@inner_kernel
def radius_at_mm(shape: NDArray[np.float64], height_mm: float) -> float:
    # radius of the cutter at a height above the tip, at most the cylinder's
    if shape[FLAT] >= shape[RADIUS]:
        return float(shape[RADIUS])
    if height_mm < shape[JOIN_HEIGHT]:
        rise = shape[CORNER] - max(height_mm, 0.0)
        return float(min(shape[RADIUS], shape[FLAT] + math.sqrt(max(shape[CORNER] ** 2 - rise * rise, 0.0))))
    if shape[CONE] > 0.0:
        return float(min(shape[RADIUS], shape[JOIN] + (height_mm - shape[JOIN_HEIGHT]) / shape[CONE]))
    return float(shape[RADIUS])


@inner_kernel
def lowest_offset_mm(
    shape: NDArray[np.float64], slope: float, across_mm: float, low_mm: float, high_mm: float
) -> float:
    # A straight move passes a cell. u = distance along the path from the axis to the cell; it runs over
    # [low_mm, high_mm]; across_mm = distance of the cell from the path. The surface over the cell stands at
    # (height of the tip) + profile(sqrt(u^2 + across^2)), with the tip at slope * (s - u): returns the u at which it
    # is lowest. The profile is convex and rising, so that u is unique and clamping it is exact.
    if slope == 0.0:
        best = 0.0
    elif shape[FLAT] >= shape[RADIUS]:
        best = low_mm if slope < 0.0 else high_mm
    elif shape[CORNER] > 0.0 and shape[FLAT] > 0.0:
        best = _bisect(shape, slope, across_mm, low_mm, high_mm)
    else:
        best = _closed(shape, slope, across_mm, low_mm, high_mm)
    return min(max(best, low_mm), high_mm)


@inner_kernel
def _closed(
    shape: NDArray[np.float64], slope: float, across_mm: float, low_mm: float, high_mm: float
) -> float:
    # sphere or flat tip, then cone: where the surface's slope along the path equals the path's
    aside = across_mm * across_mm
    join = shape[JOIN] * shape[JOIN]
    if shape[CORNER] > 0.0:
        rest = shape[CORNER] * shape[CORNER] - aside
        if rest > 0.0:
            best = slope * math.sqrt(rest / (1.0 + slope * slope))
            if best * best + aside <= join:
                return best
    if shape[CONE] > abs(slope):
        best = abs(across_mm) * slope / math.sqrt(shape[CONE] * shape[CONE] - slope * slope)
        if best * best + aside >= join:
            return best
    elif shape[CONE] > 0.0 or shape[JOIN] >= shape[RADIUS]:
        return low_mm if slope < 0.0 else high_mm
    best = math.sqrt(max(join - aside, 0.0))
    return best if slope > 0.0 else -best


@inner_kernel
def _bisect(
    shape: NDArray[np.float64], slope: float, across_mm: float, low_mm: float, high_mm: float
) -> float:
    # rounded corner round a flat: derivative -slope + profile'(r) u / r, which rises with u
    for _ in range(BISECTIONS):
        middle = 0.5 * (low_mm + high_mm)
        radius = math.sqrt(middle * middle + across_mm * across_mm)
        if radius <= shape[FLAT]:
            steep = 0.0
        elif radius < shape[JOIN]:
            over = radius - shape[FLAT]
            steep = over / math.sqrt(max(shape[CORNER] ** 2 - over * over, 1e-18)) * middle / radius
        elif shape[CONE] > 0.0:
            steep = shape[CONE] * middle / radius
        else:
            steep = 1e9 if middle > 0.0 else -1e9
        if steep < slope:
            low_mm = middle
        else:
            high_mm = middle
    return 0.5 * (low_mm + high_mm)
