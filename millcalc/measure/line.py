"""The straight line through pulls and dial readings: slope, play, and the readings that do not fit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError
from millcalc.measure import tuning
from millcalc.measure.readings import Run

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class BadReading:
    """A reading that does not lie on the line: pull [N], reading and what the line says [mm]."""

    place: str
    number: int
    force_n: float
    dial_mm: float
    expected_mm: float


@dataclass(frozen=True, slots=True)
class Line:
    """Give for each newton, from all series of one axis at one drop.

    um_n: Slope [um/N].
    um_n_sd: Its standard uncertainty, from the scatter and the resolution of the dial [um/N].
    scatter_mm: Standard deviation of the readings about the line [mm].
    hysteresis_mm: Reading on the way down less on the way up at the same pull; None when not pulled both
      ways [mm].
    play_mm: Gap between the lines of pulling and pushing; None without pulls of both signs in one series
      [mm].
    used: Readings on the line [-].
    left_out: Readings of the first pull that only takes up the play [-].
    bad: Readings that were left out because they do not fit.
    """

    um_n: float
    um_n_sd: float
    scatter_mm: float
    hysteresis_mm: float | None
    play_mm: float | None
    used: int
    left_out: int
    bad: tuple[BadReading, ...]


def fit_line(runs: tuple[Run, ...], resolution_mm: float = tuning.DIAL_RESOLUTION_MM) -> Line:
    """Fit one slope through all series of one axis at one drop.

    runs: Series of the same axis and drop.
    resolution_mm: Smallest step of the dial [mm].
    Returns: Slope with its uncertainty, play, and bad readings by name.
    Raises InputError: With too few pulls, too many bad readings, or a slope that is no spring.

    Note: Least squares with one common slope and an own offset for each way (rising, falling, pushing) of
      each series. Readings at or below the first pull are left out: they take up play, not stiffness. A
      reading is bad when its deleted Student residual exceeds what chance allows (Student's t, shared out
      over the readings) and it is off by more than two steps of the dial.
    """
    readings = _gather(runs)
    good = np.ones(len(readings.force), dtype=bool)
    bad: list[int] = []
    while True:
        _enough(readings, good, bad)
        fit = _fit(readings, good, resolution_mm)
        worst = _worst(fit, resolution_mm)
        if worst is None:
            break
        bad.append(int(np.flatnonzero(good)[worst]))
        good[bad[-1]] = False
    place = runs[0].place
    reports = tuple(_bad(index, readings, fit) for index in sorted(bad))
    if len(bad) > tuning.MOST_BAD_SHARE * len(good):
        _refuse_scattered(reports, len(good), place)
    _refuse_no_spring(fit, place)
    return Line(
        1000.0 * fit.slope,
        1000.0 * fit.slope_sd,
        fit.scatter_mm,
        _hysteresis(fit.offsets),
        _play(fit.offsets),
        int(good.sum()),
        readings.left_out,
        reports,
    )


@dataclass(frozen=True)
class _Readings:
    """All readings above the first pull, n of them.

    force, dial: Pull [N] and reading [mm].
    branch: The way each was made: 4 x series + 2 x pushing + falling [-].
    source: Series, and number in the series [-].
    left_out: Readings of the first pull [-].
    """

    runs: tuple[Run, ...]
    force: Array
    dial: Array
    branch: NDArray[np.int64]
    source: list[tuple[int, int]]
    left_out: int


@dataclass(frozen=True)
class _Fit:
    """One slope and an offset for each branch, by least squares.

    slope, slope_sd: Movement for each newton, and its standard uncertainty [mm/N].
    offsets: Of each branch [mm].
    residual: Of each reading that was used [mm].
    leverage: How far each reading pulls the line to itself [-].
    freedom: Degrees of freedom [-].
    floor_mm: Standard deviation that the step of the dial alone gives [mm].
    scatter_mm: Standard deviation about the line [mm].
    """

    slope: float
    slope_sd: float
    offsets: dict[int, float]
    residual: Array
    leverage: Array
    freedom: int
    floor_mm: float
    scatter_mm: float


def _fit(readings: _Readings, good: NDArray[np.bool_], resolution_mm: float) -> _Fit:
    force, dial, branch = readings.force[good], readings.dial[good], readings.branch[good]
    kept = sorted(set(branch.tolist()))
    columns = np.stack([*(branch == one for one in kept), force], axis=1).astype(float)
    answer: Array = np.asarray(np.linalg.lstsq(columns, dial, rcond=None)[0], dtype=np.float64)
    residual = dial - columns @ answer
    inverse = np.linalg.pinv(columns.T @ columns)
    leverage = np.clip(np.einsum("ij,jk,ik->i", columns, inverse, columns), 0.0, 0.999)
    freedom = len(residual) - columns.shape[1]
    floor = resolution_mm / np.sqrt(12.0)
    scatter = float(np.sqrt(max(float(residual @ residual) / max(freedom, 1), floor**2)))
    slope_sd = scatter * float(np.sqrt(inverse[-1, -1]))
    offsets = dict(zip(kept, answer[:-1].tolist(), strict=True))
    return _Fit(float(answer[-1]), slope_sd, offsets, residual, leverage, freedom, floor, scatter)


def _worst(fit: _Fit, resolution_mm: float) -> int | None:
    """The reading that fits least, where it is farther off than chance allows; an index into those used."""
    from scipy.special import stdtrit

    free = 1 - fit.leverage
    # scatter without each reading in turn, never below what the dial can show
    total = float(fit.residual @ fit.residual)
    without = (total - fit.residual**2 / free) / max(fit.freedom - 1, 1)
    student = np.abs(fit.residual) / np.sqrt(np.maximum(without, fit.floor_mm**2) * free)
    off = np.abs(fit.residual) / free > 2.0 * resolution_mm
    suspect = np.where(off & (fit.freedom > 1), student, 0.0)
    worst = int(np.argmax(suspect))
    tail = tuning.BAD_READING_CHANCE / (2 * len(suspect))
    return worst if suspect[worst] > float(stdtrit(max(fit.freedom - 1, 1), 1.0 - tail)) else None


def _refuse_scattered(bad: tuple[BadReading, ...], count: int, place: str) -> None:
    named = "; ".join(f"reading {b.number}: {b.force_n:.0f} N gave {b.dial_mm:.3f} mm" for b in bad)
    raise InputError(
        f"{len(bad)} of {count} readings off the line ({named})",
        "readings on a straight line",
        "check that the dial's foot stands on the bed and nothing slips, then repeat the series",
        field=place,
    )


def _refuse_no_spring(fit: _Fit, place: str) -> None:
    if fit.slope <= 0:
        raise InputError(
            f"a tip that moves {fit.slope * 1000:.2g} um against each newton",
            "readings that grow with the pull",
            "set the dial so that it grows when you pull, or write its readings with the other sign",
            field=place,
        )
    uncertain, most = fit.slope_sd / fit.slope, tuning.MOST_UNCERTAIN_SLOPE
    if uncertain > most:
        raise InputError(
            f"readings that scatter by {fit.scatter_mm:.3f} mm about a line that is uncertain to "
            f"{100 * uncertain:.0f} %",
            f"a slope good to {100 * most:.0f} %",
            "pull harder, use a finer dial, or repeat the series several times",
            field=place,
        )


def _gather(runs: tuple[Run, ...]) -> _Readings:
    force, dial, branch, source = [], [], [], []
    left_out = 0
    for number, run in enumerate(runs):
        sizes = [abs(f) for f in run.force_n if f != 0]
        first = min(sizes, default=0.0) * (1 + 1e-9)
        previous = 0.0
        falling = False
        sign = 0
        for index, (one, reading) in enumerate(zip(run.force_n, run.dial_mm, strict=True)):
            size = abs(one)
            if one and sign and np.sign(one) != sign:
                previous, falling = 0.0, False
            sign = int(np.sign(one)) or sign
            falling = size < previous * (1 - 1e-9) or (falling and size <= previous * (1 + 1e-9))
            previous = size
            if size <= first:
                left_out += 1
                continue
            force.append(one)
            dial.append(reading)
            branch.append(4 * number + 2 * (one < 0) + falling)
            source.append((number, index))
    return _Readings(
        runs, np.array(force), np.array(dial), np.array(branch, dtype=np.int64), source, left_out
    )


def _enough(readings: _Readings, good: NDArray[np.bool_], bad: list[int]) -> None:
    force, run = readings.force[good], readings.runs[0]
    different = len(np.unique(np.round(np.abs(force), 3)))
    if different < 3 or len(force) < 4:
        off = [(readings.source[i][1] + 1, readings.force[i], readings.dial[i]) for i in bad]
        raise InputError(
            f"{len(force)} readings at {different} different pulls above the first, axis {run.axis.upper()}"
            + (f" at drop {run.drop_mm:g} mm" if run.drop_mm is not None else "")
            + "".join(f"; reading {n} is off the line: {f:.0f} N gave {d:.3f} mm" for n, f, d in off),
            "at least 4 readings at 3 different pulls above the first one",
            "pull 0, 2, 4, 6, 8, 10 kg and back down, reading the dial each time",
            field=run.place,
        )


def _bad(index: int, readings: _Readings, fit: _Fit) -> BadReading:
    series, number = readings.source[index]
    own, force = int(readings.branch[index]), float(readings.force[index])
    usual = float(np.mean(list(fit.offsets.values())))
    expected = fit.offsets.get(own, usual) + fit.slope * force
    return BadReading(readings.runs[series].place, number + 1, force, float(readings.dial[index]), expected)


def _hysteresis(offsets: dict[int, float]) -> float | None:
    gaps = [offsets[one + 1] - offsets[one] for one in offsets if one % 2 == 0 and one + 1 in offsets]
    return float(np.mean(np.abs(gaps))) if gaps else None


def _play(offsets: dict[int, float]) -> float | None:
    gaps = []
    for series in {one // 4 for one in offsets}:
        pulled = [offsets[4 * series + i] for i in (0, 1) if 4 * series + i in offsets]
        pushed = [offsets[4 * series + i] for i in (2, 3) if 4 * series + i in offsets]
        if pulled and pushed:
            gaps.append(float(np.mean(pulled) - np.mean(pushed)))
    return max(float(np.mean(gaps)), 0.0) if gaps else None
