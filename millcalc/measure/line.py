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
    from scipy.special import stdtrit

    force, dial, branch, source, left_out = _gather(runs)
    good = np.ones(len(force), dtype=bool)
    bad: list[int] = []
    place = runs[0].place
    while True:
        _enough(force[good], place, runs[0], [(source[i][1] + 1, force[i], dial[i]) for i in bad])
        columns, kept = _design(force[good], branch[good])
        answer: Array = np.asarray(np.linalg.lstsq(columns, dial[good], rcond=None)[0], dtype=np.float64)
        residual = dial[good] - columns @ answer
        freedom = len(residual) - columns.shape[1]
        floor = resolution_mm / np.sqrt(12.0)
        inverse = np.linalg.pinv(columns.T @ columns)
        leverage = np.clip(np.einsum("ij,jk,ik->i", columns, inverse, columns), 0.0, 0.999)
        total = float(residual @ residual)
        # scatter without each reading in turn, never below what the dial can show
        without = (total - residual**2 / (1 - leverage)) / max(freedom - 1, 1)
        student = np.abs(residual) / np.sqrt(np.maximum(without, floor**2) * (1 - leverage))
        off = np.abs(residual) / (1 - leverage) > 2.0 * resolution_mm
        suspect = np.where(off & (freedom > 1), student, 0.0)
        worst = int(np.argmax(suspect))
        tail = tuning.BAD_READING_CHANCE / (2 * len(residual))
        if suspect[worst] <= float(stdtrit(max(freedom - 1, 1), 1.0 - tail)):
            break
        index = int(np.flatnonzero(good)[worst])
        bad.append(index)
        good[index] = False
    slope = float(answer[-1])
    reports = tuple(_bad(index, force, dial, branch, source, runs, answer, kept) for index in sorted(bad))
    if len(bad) > tuning.MOST_BAD_SHARE * len(force):
        named = "; ".join(f"reading {b.number}: {b.force_n:.0f} N gave {b.dial_mm:.3f} mm" for b in reports)
        raise InputError(
            f"{len(bad)} of {len(force)} readings off the line ({named})",
            "readings on a straight line",
            "check that the dial's foot stands on the bed and nothing slips, then repeat the series",
            field=place,
        )
    if slope <= 0:
        raise InputError(
            f"a tip that moves {slope * 1000:.2g} um against each newton",
            "readings that grow with the pull",
            "set the dial so that it grows when you pull, or write its readings with the other sign",
            field=place,
        )
    scatter = float(np.sqrt(max(total / max(freedom, 1), floor**2)))
    uncertain = scatter * float(np.sqrt(inverse[-1, -1])) / slope
    if uncertain > tuning.MOST_UNCERTAIN_SLOPE:
        raise InputError(
            f"readings that scatter by {scatter:.3f} mm about a line that is uncertain to {100 * uncertain:.0f} %",
            f"a slope good to {100 * tuning.MOST_UNCERTAIN_SLOPE:.0f} %",
            "pull harder, use a finer dial, or repeat the series several times",
            field=place,
        )
    offsets = dict(zip(kept, answer[:-1], strict=True))
    return Line(
        1000.0 * slope,
        1000.0 * scatter * float(np.sqrt(inverse[-1, -1])),
        scatter,
        _hysteresis(offsets),
        _play(offsets),
        int(good.sum()),
        left_out,
        reports,
    )


def _gather(runs: tuple[Run, ...]) -> tuple[Array, Array, NDArray[np.int64], list[tuple[int, int]], int]:
    """All readings above the first pull, with the way each was made: 4 x series + 2 x pushing + falling."""
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
    return np.array(force), np.array(dial), np.array(branch, dtype=np.int64), source, left_out


def _enough(force: Array, place: str, run: Run, bad: list[tuple[int, float, float]]) -> None:
    different = len(np.unique(np.round(np.abs(force), 3)))
    if different < 3 or len(force) < 4:
        raise InputError(
            f"{len(force)} readings at {different} different pulls above the first, axis {run.axis.upper()}"
            + (f" at drop {run.drop_mm:g} mm" if run.drop_mm is not None else "")
            + "".join(f"; reading {n} is off the line: {f:.0f} N gave {d:.3f} mm" for n, f, d in bad),
            "at least 4 readings at 3 different pulls above the first one",
            "pull 0, 2, 4, 6, 8, 10 kg and back down, reading the dial each time",
            field=place,
        )


def _design(force: Array, branch: NDArray[np.int64]) -> tuple[Array, list[int]]:
    kept = sorted(set(branch.tolist()))
    columns = np.stack([*(branch == one for one in kept), force], axis=1).astype(float)
    return columns, kept


def _bad(
    index: int,
    force: Array,
    dial: Array,
    branch: NDArray[np.int64],
    source: list[tuple[int, int]],
    runs: tuple[Run, ...],
    answer: Array,
    kept: list[int],
) -> BadReading:
    run, number = source[index]
    own = int(branch[index])
    offset = float(answer[kept.index(own)]) if own in kept else float(np.mean(answer[:-1]))
    expected = offset + float(answer[-1]) * float(force[index])
    return BadReading(runs[run].place, number + 1, float(force[index]), float(dial[index]), expected)


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
