"""Density of a piece from its weight and size, with the range that the readings leave open."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from millcalc.mechanics._arrays import Numbers, Result, not_negative, positive

WATER_KG_MM3 = 998.2e-9  # [kg/mm3] at 20 deg C; CRC Handbook, recalled and not read again
WATER_SPREAD = 0.006  # [-] between ice-cold and 40 deg C it stays within this share; estimate


def density_kg_m3(mass_kg: Numbers, volume_mm3: Numbers) -> Result:
    """Density as mass over volume.

    mass_kg: Mass [kg].
    volume_mm3: Volume [mm3].
    Returns: Density [kg/m3].
    Raises ValueError: If an argument is not greater than 0.

    >>> float(density_kg_m3(0.324, 200 * 100 * 6))
    2700.0
    """
    density = 1e9 * positive("mass_kg", mass_kg) / positive("volume_mm3", volume_mm3)
    return density if np.ndim(density) else float(density)


def box_volumes_mm3(sides_mm: Sequence[float], error_mm: float) -> tuple[float, float, float]:
    """Volume of a cuboid, with the least and the greatest that the readings allow.

    sides_mm: The three sides [mm].
    error_mm: What each reading may be off, either way [mm].
    Returns: Least, as read, greatest [mm3].
    Raises ValueError: If there are not three sides greater than 0, or an error reaches the smallest side.

    Note: Every side off at once, the worst case, is wider than what is likely.
    """
    sides = positive("sides_mm", np.asarray(sides_mm, dtype=np.float64))
    error = float(not_negative("error_mm", error_mm))
    if sides.shape != (3,):
        raise ValueError(f"sides_mm must be three numbers, found {sides.size}")
    if error >= sides.min():
        raise ValueError(f"error_mm must be less than the smallest side, found {error:g}")
    return float(np.prod(sides - error)), float(np.prod(sides)), float(np.prod(sides + error))


def bar_volumes_mm3(diameter_mm: float, length_mm: float, error_mm: float) -> tuple[float, float, float]:
    """Volume of a round bar, with the least and the greatest that the readings allow.

    diameter_mm: Diameter [mm].
    length_mm: Length [mm].
    error_mm: What each reading may be off, either way [mm].
    Returns: Least, as read, greatest [mm3].
    Raises ValueError: If a size is not greater than 0, or an error reaches the smaller one.
    """
    least, read, most = box_volumes_mm3((diameter_mm, diameter_mm, length_mm), error_mm)
    return least * np.pi / 4, read * np.pi / 4, most * np.pi / 4


def displaced_volumes_mm3(water_kg: float, error_kg: float) -> tuple[float, float, float]:
    """Volume of a piece hung into a vessel of water on a scale, from what the scale then shows more.

    water_kg: Rise of the reading while the piece hangs in the water and touches nothing [kg].
    error_kg: What the rise may be off, either way [kg].
    Returns: Least, as read, greatest [mm3].
    Raises ValueError: If the rise is not greater than its error.

    Note: The rise is the mass of the water displaced (Archimedes), whatever the shape of the piece.
    """
    rise, error = float(positive("water_kg", water_kg)), float(not_negative("error_kg", error_kg))
    if error >= rise:
        raise ValueError(f"error_kg must be less than the rise, found {error:g}")
    return (
        (rise - error) / WATER_KG_MM3 * (1 - WATER_SPREAD),
        rise / WATER_KG_MM3,
        (rise + error) / WATER_KG_MM3 * (1 + WATER_SPREAD),
    )


def density_range_kg_m3(
    mass_kg: float, mass_error_kg: float, volumes_mm3: Sequence[float]
) -> tuple[float, float, float]:
    """Density with the least and the greatest that the readings allow.

    mass_kg: Mass as read [kg].
    mass_error_kg: What the scale may be off, either way [kg].
    volumes_mm3: Least volume, volume as read, greatest volume [mm3].
    Returns: Least, as read, greatest [kg/m3].
    Raises ValueError: If the mass is not greater than its error, or a volume is not greater than 0.

    >>> volumes = box_volumes_mm3((200, 100, 6), 0.1)
    >>> [round(rho) for rho in density_range_kg_m3(0.324, 0.001, volumes)]
    [2644, 2700, 2758]
    """
    mass, error = float(positive("mass_kg", mass_kg)), float(not_negative("mass_error_kg", mass_error_kg))
    if error >= mass:
        raise ValueError(f"mass_error_kg must be less than the mass, found {error:g}")
    least, read, most = (float(positive("volumes_mm3", volume)) for volume in volumes_mm3)
    return (
        float(density_kg_m3(mass - error, most)),
        float(density_kg_m3(mass, read)),
        float(density_kg_m3(mass + error, least)),
    )
