"""Life of an edge over cutting speed, and the heat that goes into the chip."""

from __future__ import annotations

from millcalc.mechanics._arrays import Numbers, Result, between, not_negative, positive, result


def taylor_life_min(cutting_speed_m_min: Numbers, constant_m_min: Numbers, exponent: Numbers) -> Result:
    """Give the life of an edge at a cutting speed: T = (C / vc)^(1/n).

    cutting_speed_m_min: Cutting speed vc [m/min].
    constant_m_min: Speed C at which the edge lasts one minute [m/min].
    exponent: Exponent n; 0.10 to 0.15 high-speed steel, 0.2 to 0.3 carbide [-].
    Returns: Time in the cut [min].
    Raises ValueError: If an argument is not finite or out of range.

    Note: Wear only: chipping, welding and run-out end most small cutters before.

    >>> round(taylor_life_min(160.0, 229.0, 0.223))
    5

    Source: F. W. Taylor, Transactions of the ASME 28 (1907) 31 (from memory); exponents from notes on A.
      Ghosh, A. K. Mallik, Manufacturing Science.
    """
    speed = positive("constant_m_min", constant_m_min) / positive("cutting_speed_m_min", cutting_speed_m_min)
    return result(speed ** (1.0 / between("exponent", exponent, 0.01, 1.5)))


def taylor_speed_m_min(life_min: Numbers, constant_m_min: Numbers, exponent: Numbers) -> Result:
    """Give the cutting speed at which an edge lasts a time: vc = C / T^n.

    life_min: Time in the cut T [min].
    constant_m_min: Speed C at which the edge lasts one minute [m/min].
    exponent: Exponent n [-].
    Returns: Cutting speed [m/min].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(taylor_speed_m_min(41.0, 229.0, 0.223))
    100

    Source: F. W. Taylor, Transactions of the ASME 28 (1907) 31 (from memory).
    """
    power = positive("life_min", life_min) ** between("exponent", exponent, 0.01, 1.5)
    return result(positive("constant_m_min", constant_m_min) / power)


def life_ratio(speed_ratio: Numbers, exponent: Numbers) -> Result:
    """Give how many times longer an edge lasts when the speed is multiplied: ratio^(-1/n).

    speed_ratio: New over old cutting speed [-].
    exponent: Exponent n [-].
    Returns: New over old life [-].
    Raises ValueError: If an argument is not finite or out of range.

    >>> life_ratio(0.5, 0.5)
    4.0

    Source: F. W. Taylor, Transactions of the ASME 28 (1907) 31 (from memory).
    """
    return result(positive("speed_ratio", speed_ratio) ** (-1.0 / between("exponent", exponent, 0.01, 1.5)))


def chip_temperature_rise_k(
    specific_energy_n_mm2: Numbers,
    cutting_speed_m_min: Numbers,
    chip_mm: Numbers,
    heat_capacity_j_mm3_k: Numbers,
    diffusivity_mm2_s: Numbers,
) -> Result:
    """Give the rise of temperature between chip and edge: 0.4 U / (rho C) (v t / K)^(1/3).

    specific_energy_n_mm2: Specific cutting energy U, the number of the specific force [N/mm2].
    cutting_speed_m_min: Cutting speed v [m/min].
    chip_mm: Chip thickness t before the cut [mm].
    heat_capacity_j_mm3_k: Heat capacity for each volume of the work rho C [J/(mm3 K)].
    diffusivity_mm2_s: Thermal diffusivity of the work K [mm2/s].
    Returns: Mean rise over the air's temperature [K].
    Raises ValueError: If an argument is not finite or out of range.

    Note: Steady orthogonal cutting of metal; an interrupted cut stays cooler. Use it to compare, not to
      predict.

    >>> round(chip_temperature_rise_k(1038.0, 100.0, 0.5, 3.0e-3, 50.0), -1)
    350.0

    Source: N. H. Cook, Journal of Engineering for Industry 95 (1973) 931, as given by M. P. Groover,
      Fundamentals of Modern Manufacturing, chapter on theory of metal machining (from memory).
    """
    energy = positive("specific_energy_n_mm2", specific_energy_n_mm2) / 1000.0
    speed_mm_s = positive("cutting_speed_m_min", cutting_speed_m_min) * 1000.0 / 60.0
    number = speed_mm_s * not_negative("chip_mm", chip_mm) / positive("diffusivity_mm2_s", diffusivity_mm2_s)
    heat = positive("heat_capacity_j_mm3_k", heat_capacity_j_mm3_k)
    return result(0.4 * energy / heat * number ** (1.0 / 3.0))
