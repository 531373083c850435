"""Forces over one turn of a helical cutter: mean, peak and swing of every component.

Each tooth is integrated over its height by a table of the cumulative force along the arc of cut, so that the
entry and exit of a helical edge are exact; the turn itself is sampled in even steps.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from millcalc.mechanics._arrays import (
    FloatArray,
    Numbers,
    Result,
    between,
    not_negative,
    positive,
    result,
    whole,
)
from millcalc.mechanics.linear_edge import EdgeCoefficients, check_arc
from millcalc.mechanics.runout import tooth_radii_mm

_ARC_NODES = 181  # [-] nodes of the cumulative table along the arc of cut; trapezoid error below 1e-4
_TOUCH_RAD = 1e-12  # [rad] rounding allowed where a straight edge stands exactly at entry; at exit it is out
_BEFORE_EXIT_RAD = 1e-9  # [rad] where the last force of a straight edge is sampled
_LEAST_LAG_RAD = 1e-7  # [rad] helix lag below which an edge counts as straight


@dataclass(frozen=True, slots=True)
class TurnForces:
    """Forces on the cutter over one turn, each a float or an array over depths and feeds.

    mean_tangential_n, peak_tangential_n: Sum of the tangential forces of all teeth; the mean times the
      cutting speed is the power [N].
    mean_radial_n, peak_radial_n: Sum of the radial forces of all teeth [N].
    mean_axial_n, peak_axial_n: Force along the axis; positive lifts the work (up-cut), negative presses it
      down [N].
    mean_in_plane_n, peak_in_plane_n: Size of the resultant across the axis, its mean and peak [N].
    mean_x_n, mean_y_n: Mean of the force along the feed and across it [N].
    peak_x_n, peak_y_n: Value of largest size along the feed and across it, with its sign [N].
    swing_n: Largest distance of the in-plane force from its mean: the part that shakes the machine [N].
    mean_torque_nm, peak_torque_nm: Torque [Nm].
    """

    mean_tangential_n: Result
    peak_tangential_n: Result
    mean_radial_n: Result
    peak_radial_n: Result
    mean_axial_n: Result
    peak_axial_n: Result
    mean_in_plane_n: Result
    peak_in_plane_n: Result
    mean_x_n: Result
    mean_y_n: Result
    peak_x_n: Result
    peak_y_n: Result
    swing_n: Result
    mean_torque_nm: Result
    peak_torque_nm: Result

    @property
    def mean_power_force_n(self) -> Result:
        """Force which times the cutting speed is the cutting power: the mean tangential force [N]."""
        return self.mean_tangential_n


def turn_forces(
    coefficients: EdgeCoefficients,
    diameter_mm: float,
    flutes: int,
    axial_depth_mm: float,
    feed_per_tooth_mm: float,
    entry_rad: float,
    exit_rad: float,
    helix_deg: float,
    runout_mm: float = 0.0,
    steps: int = 180,
) -> TurnForces:
    """Give the forces on the cutter over one turn, run-out and helix included.

    coefficients: Coefficients of the material.
    diameter_mm: Cutter diameter D [mm].
    flutes: Number of teeth, evenly spread [-].
    axial_depth_mm: Axial depth a [mm].
    feed_per_tooth_mm: Feed per tooth c [mm].
    entry_rad, exit_rad: Entry and exit angle, 0 to pi [rad].
    helix_deg: Helix angle; negative for a down-cut, 0 for straight flutes [deg].
    runout_mm: Total indicator reading; the first tooth stands out most [mm].
    steps: Positions over the turn [-].
    Returns: Mean, peak and swing of the components.
    Raises ValueError: If an argument is not finite or out of range.

    Note: Rigid cutter, circular tooth paths, straight wall. A down-cut turns the axial force around. With
      run-out the chip of tooth i is the smallest of k c sin(phi) + r_i - r_(i-k) over the k teeth before
      it, at least 0; a tooth that misses carries no edge force.

    >>> set_6082 = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)
    >>> turn = turn_forces(set_6082, 6.0, 2, 1.0, 0.03, 0.0, np.pi, 30.0)
    >>> round(turn.mean_x_n, 2), round(turn.mean_y_n, 2), round(turn.mean_axial_n, 2)
    (-7.85, 17.74, 8.01)

    Source: E. Budak, Y. Altintas, E. J. A. Armarego, Journal of Engineering for Industry 118 (1996) 216; W.
      A. Kline, R. E. DeVor, International Journal of Machine Tool Design and Research 23 (1983) 123 (from
      memory).
    """
    depth = not_negative("axial_depth_mm", axial_depth_mm)
    feed = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    if depth.ndim or feed.ndim:
        raise ValueError("axial_depth_mm and feed_per_tooth_mm must be single numbers; see turn_peaks")
    arc = _Arc.of(diameter_mm, flutes, entry_rad, exit_rad, helix_deg, steps)
    densities = _runout_densities(coefficients, arc, float(feed), float(not_negative("runout_mm", runout_mm)))
    history = np.zeros((5, 1, len(arc.positions)))
    total = np.zeros((5, 1))
    for tooth in range(arc.flutes):
        swept, whole_arc = arc.over_height(
            densities[:, tooth % densities.shape[1]], np.atleast_1d(depth), tooth
        )
        history += swept
        total += whole_arc
    return _summary(history[:, 0], total[:, 0] / (2.0 * np.pi), arc)


def turn_peaks(
    coefficients: EdgeCoefficients,
    diameter_mm: float,
    flutes: int,
    axial_depth_mm: Numbers,
    feed_per_tooth_mm: Numbers,
    entry_rad: float,
    exit_rad: float,
    helix_deg: float,
    steps: int = 180,
) -> TurnForces:
    """Give the forces over one turn for many depths and feeds at once, without run-out.

    coefficients: Coefficients of the material.
    diameter_mm: Cutter diameter D [mm].
    flutes: Number of teeth, evenly spread [-].
    axial_depth_mm, feed_per_tooth_mm: Axial depths and feeds per tooth, broadcast against each other [mm].
    entry_rad, exit_rad: Entry and exit angle, 0 to pi [rad].
    helix_deg: Helix angle; negative for a down-cut, 0 for straight flutes [deg].
    steps: Positions over the turn [-].
    Returns: Fields of the broadcast shape of depth and feed.
    Raises ValueError: If an argument is not finite or out of range.

    Note: As :func:`turn_forces` with no run-out; the force is linear in the feed, so the arc is integrated
      once.

    >>> set_6082 = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)
    >>> turn_peaks(set_6082, 6.0, 2, np.array([1.0, 2.0]), 0.03, 0.0, np.pi, 30.0).mean_y_n.round(2).tolist()
    [17.74, 35.48]

    Source: E. Budak, Y. Altintas, E. J. A. Armarego, Journal of Engineering for Industry 118 (1996) 216
      (from memory).
    """
    depth, feed = np.broadcast_arrays(
        not_negative("axial_depth_mm", axial_depth_mm), not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    )
    arc = _Arc.of(diameter_mm, flutes, entry_rad, exit_rad, helix_deg, steps)
    cut_table, edge_table = _unit_densities(coefficients, arc)
    depths, place = np.unique(depth, return_inverse=True)
    cut = np.zeros((5, depths.size, len(arc.positions)))
    edge = np.zeros_like(cut)
    total = np.zeros((2, 5, depths.size))
    for tooth in range(arc.flutes):
        cut_swept, cut_total = arc.over_height(cut_table, depths, tooth)
        edge_swept, edge_total = arc.over_height(edge_table, depths, tooth)
        cut += cut_swept
        edge += edge_swept
        total += cut_total, edge_total
    place, feeds = np.ravel(place), np.ravel(feed)
    history = cut[:, place] * feeds[:, None] + edge[:, place]
    means = ((total[0][:, place] * feeds + total[1][:, place]) / (2.0 * np.pi)).reshape(5, *depth.shape)
    return _summary(history.reshape(5, *depth.shape, len(arc.positions)), means, arc)


@dataclass(frozen=True, slots=True)
class _Arc:
    """The arc of cut: its nodes [rad], the lag of the helix [rad/mm] and the sampled cutter positions [rad].

    The first `steps` positions are spread evenly over the turn; the rest are the angles at which a straight
    edge enters, stands ahead and leaves, so that no peak there is missed.
    """

    nodes: FloatArray
    positions: FloatArray
    lag_rad_mm: float
    axial_sign: float
    radius_mm: float
    flutes: int
    steps: int

    @classmethod
    def of(
        cls, diameter_mm: float, flutes: int, entry_rad: float, exit_rad: float, helix_deg: float, steps: int
    ) -> _Arc:
        diameter = float(positive("diameter_mm", diameter_mm))
        helix = float(between("helix_deg", helix_deg, -80.0, 80.0))
        entry, leave = (float(angle) for angle in check_arc(entry_rad, exit_rad))
        count = int(whole("steps", steps, 8))
        even = 2.0 * np.pi * (np.arange(count) + 0.5) / count
        ahead = float(np.clip(np.pi / 2.0, entry, leave))
        return cls(
            nodes=np.linspace(entry, leave, _ARC_NODES),
            positions=np.concatenate([even, [entry, ahead, leave - _BEFORE_EXIT_RAD]]),
            lag_rad_mm=2.0 * float(np.tan(np.radians(helix))) / diameter,
            axial_sign=-1.0 if helix < 0 else 1.0,
            radius_mm=diameter / 2.0,
            flutes=int(whole("flutes", flutes)),
            steps=count,
        )

    def over_height(
        self, density: FloatArray, depths: FloatArray, tooth: int
    ) -> tuple[FloatArray, FloatArray]:
        """Integrate rows of force per height, given at the nodes, over the height of one tooth.

        `density` has shape (5, nodes); the results are the force at each position, shape (5, depths,
        positions) [N], and its integral over the turn, shape (5, depths) [N rad].
        """
        areas = (density[:, 1:] + density[:, :-1]) / 2.0 * np.diff(self.nodes)
        tables = np.concatenate([np.zeros((5, 1)), np.cumsum(areas, axis=1)], axis=1)
        tip = self.positions - 2.0 * np.pi * tooth / self.flutes
        local = np.mod(tip, 2.0 * np.pi)
        inside = (local >= self.nodes[0] - _TOUCH_RAD) & (local < self.nodes[-1] - _TOUCH_RAD)
        lags = self.lag_rad_mm * depths[:, None]
        straight = np.abs(lags) < _LEAST_LAG_RAD
        safe = np.where(straight, 1.0, lags)
        upper = np.broadcast_to(tip, (len(depths), len(tip)))
        lower = upper - lags
        out = np.empty((5, len(depths), len(tip)))
        for row in range(5):
            sampled = np.where(inside, np.interp(local, self.nodes, density[row]), 0.0)
            swept = self._cumulative(upper, tables[row]) - self._cumulative(lower, tables[row])
            out[row] = np.where(straight, sampled, swept / safe) * depths[:, None]
        return out, tables[:, -1:] * depths

    def _cumulative(self, angle: FloatArray, table: FloatArray) -> FloatArray:
        turns = np.floor(angle / (2.0 * np.pi))
        rest = angle - turns * 2.0 * np.pi
        return np.asarray(turns * table[-1] + np.interp(rest, self.nodes, table))


def _rows(
    coefficients: EdgeCoefficients, arc: _Arc, chip: FloatArray, cutting: FloatArray | float
) -> FloatArray:
    """Force per height at the nodes, rows x, y, tangential, radial, axial; `cutting` gates the edge part."""
    k = coefficients
    tangential = k.ktc_n_mm2 * chip + k.kte_n_mm * cutting
    radial = k.krc_n_mm2 * chip + k.kre_n_mm * cutting
    axial = arc.axial_sign * (k.kac_n_mm2 * chip + k.kae_n_mm * cutting)
    sine, cosine = np.sin(arc.nodes), np.cos(arc.nodes)
    x = -tangential * cosine - radial * sine
    y = tangential * sine - radial * cosine
    return np.stack(np.broadcast_arrays(x, y, tangential, radial, axial))


def _unit_densities(coefficients: EdgeCoefficients, arc: _Arc) -> tuple[FloatArray, FloatArray]:
    """Rows of the cutting part at a feed per tooth of 1 mm, and of the edge part."""
    chip = np.sin(arc.nodes)
    return _rows(coefficients, arc, chip, 0.0), _rows(
        coefficients, arc, np.zeros_like(chip), np.ones_like(chip)
    )


def _runout_densities(coefficients: EdgeCoefficients, arc: _Arc, feed: float, runout: float) -> FloatArray:
    """Rows for each tooth, shape (5, teeth, nodes); one tooth stands for all when there is no run-out."""
    sine = np.sin(arc.nodes)
    if runout == 0.0 or arc.flutes == 1:
        return _rows(coefficients, arc, feed * sine, np.ones_like(sine))[:, None, :]
    radii = tooth_radii_mm(runout, arc.flutes)
    tables = []
    for tooth in range(arc.flutes):
        chips = [
            back * feed * sine + radii[tooth] - radii[(tooth - back) % arc.flutes]
            for back in range(1, arc.flutes + 1)
        ]
        chip = np.maximum(np.min(chips, axis=0), 0.0)
        tables.append(_rows(coefficients, arc, chip, np.where(chip > 0.0, 1.0, 0.0)))
    return np.stack(tables, axis=1)


def _summary(history: FloatArray, means: FloatArray, arc: _Arc) -> TurnForces:
    """Mean, peak and swing along the last axis of rows x, y, tangential, radial, axial.

    The means of the rows are exact integrals; that of the in-plane size is the mean of the even positions.
    """
    x, y, tangential, radial, axial = history
    mean_x, mean_y, mean_tangential, mean_radial, mean_axial = means
    in_plane = np.hypot(x, y)
    swing = np.hypot(x - mean_x[..., None], y - mean_y[..., None])
    peak_tangential = tangential.max(axis=-1)
    return TurnForces(
        mean_tangential_n=result(mean_tangential),
        peak_tangential_n=result(peak_tangential),
        mean_radial_n=result(mean_radial),
        peak_radial_n=result(radial.max(axis=-1)),
        mean_axial_n=result(mean_axial),
        peak_axial_n=result(_largest(axial)),
        mean_in_plane_n=result(in_plane[..., : arc.steps].mean(axis=-1)),
        peak_in_plane_n=result(in_plane.max(axis=-1)),
        mean_x_n=result(mean_x),
        mean_y_n=result(mean_y),
        peak_x_n=result(_largest(x)),
        peak_y_n=result(_largest(y)),
        swing_n=result(swing.max(axis=-1)),
        mean_torque_nm=result(mean_tangential * arc.radius_mm / 1000.0),
        peak_torque_nm=result(peak_tangential * arc.radius_mm / 1000.0),
    )


def _largest(values: FloatArray) -> FloatArray:
    place = np.abs(values).argmax(axis=-1)
    return np.asarray(np.take_along_axis(values, place[..., None], axis=-1)[..., 0])
