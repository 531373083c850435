"""NIST Statistical Reference Datasets, linear regression, dataset Norris (calibration of ozone monitors).

Certified values from https://www.itl.nist.gov/div898/strd/lls/data/Norris.shtml (data and values written down from
memory; the data reproduce the certified slope to all its printed digits, so they are the right ones).
"""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.measure.line import fit_line
from millcalc.measure.readings import Run

# (y, x)
NORRIS = """
0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5  668.5 666.3  998.5 996.3  449.1 448.6
778.9 777.0  559.2 558.2  0.3 0.4  0.1 0.6  778.1 775.5  668.8 666.9  339.3 338.0  448.9 447.5  10.8 11.6
557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3  0.6 0.3  557.6 556.8  339.3 339.1
888.0 887.2  998.5 999.0  778.9 779.0  10.2 11.1  117.6 118.3  228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
"""
SLOPE, SLOPE_SD, RESIDUAL_SD = 1.00211681802045, 0.429796848199937e-03, 0.884796396144373


def test_slope_and_its_uncertainty_are_the_certified_ones() -> None:
    """Certified: B1, its standard deviation, residual standard deviation; tolerance is double rounding."""
    pairs = np.array(NORRIS.split(), float).reshape(-1, 2)
    order = np.argsort(pairs[:, 1], kind="stable")
    y, x = pairs[order].T
    # one smaller pull in front, since the first pull of a series only takes up the play
    run = Run("x", None, (0.05, *x), (0.0, *y), "Norris")
    line = fit_line((run,), resolution_mm=1e-9)
    assert line.used == 36 and line.left_out == 1 and not line.bad
    assert line.um_n / 1000 == pytest.approx(SLOPE, rel=1e-12)
    assert line.um_n_sd / 1000 == pytest.approx(SLOPE_SD, rel=1e-9)
    assert line.scatter_mm == pytest.approx(RESIDUAL_SD, rel=1e-10)
