"""Two programs side by side: what each does in numbers, what a job says about each, and in what they differ."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from millcalc.check.model import CheckReport
from millcalc.check.prepare import CheckOptions
from millcalc.check.run import Looked, look_at
from millcalc.check.tuning import COMPARE_HEIGHT_MM
from millcalc.gcode.compare import Comparison, compare_programs
from millcalc.gcode.summary import ProgramSummary, summarise
from millcalc.gcode.tuning import COMPARE_SAME_MM
from millcalc.preflight.geometry import places_mm
from millcalc.stock.left import Heightfield


@dataclass(frozen=True)
class LeftOver:
    """Where the material that is left differs; only with both cuts simulated on the same cells.

    area_mm2: Plan area with another height [mm2].
    more_in_a_mm3, more_in_b_mm3: Material that only one of them leaves [mm3].
    greatest_mm: Greatest difference in height, B less A [mm].
    x_mm, y_mm: Where that is [mm].
    """

    area_mm2: float
    more_in_a_mm3: float
    more_in_b_mm3: float
    greatest_mm: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True)
class Compared:
    """Two programs, held against each other.

    a, b: What was found in each.
    summary_a, summary_b: Each in numbers.
    difference: In what they differ.
    left: Where what is left differs; None when both cuts could not be simulated alike.
    left_missing: Why there is none.
    """

    a: Looked
    b: Looked
    summary_a: ProgramSummary
    summary_b: ProgramSummary
    difference: Comparison
    left: LeftOver | None
    left_missing: str = ""

    @property
    def differing_mm(self) -> tuple[list[NDArray[np.float64]], list[NDArray[np.float64]]]:
        """Motions of each program that differ, as lines of places [mm]; arcs in chords."""
        found: tuple[list[NDArray[np.float64]], list[NDArray[np.float64]]] = ([], [])
        for stretch in self.difference.stretches:
            for lines, looked, first in zip(
                found, (self.a, self.b), (stretch.motion_a, stretch.motion_b), strict=True
            ):
                if first is None:
                    continue
                motions = looked.ctx.program.motions
                rows = np.arange(first, min(first + stretch.count, len(motions)))
                shares = np.linspace(0.0, 1.0, 17) if motions.is_arc[rows].any() else np.array([0.0, 1.0])
                places = places_mm(motions, rows, shares)
                lines += [line for line in places if np.isfinite(line[:, :2]).all()]
        return found

    @property
    def same(self) -> bool:
        """Whether both do the same, as far as was looked at."""
        complete = self.a.report.program.complete and self.b.report.program.complete
        return self.difference.same and (complete or self.difference.same_text)


def compare_files(
    a: Path,
    b: Path,
    job: Path | None = None,
    options: CheckOptions | None = None,
    within_mm: float = COMPARE_SAME_MM,
) -> Compared:
    """Compare two program files.

    a, b: The programs.
    job: The job of both; None compares what needs none.
    options: Options of both checks.
    within_mm: Points closer than this are the same [mm].
    Returns: Both, and in what they differ.
    Raises ProgramError, JobError, TableError: If a file cannot be used.
    """
    options = options or CheckOptions()
    one = look_at(a, job, options)
    if one.ctx.removal is not None:
        options = replace(
            options, cell_mm=one.ctx.removal.cell_mm
        )  # the same cells, so that they can be compared
    two = look_at(b, job, options)
    left, missing = _left_over(one, two)
    return Compared(
        a=one,
        b=two,
        summary_a=summarise(one.ctx.program),
        summary_b=summarise(two.ctx.program),
        difference=compare_programs(one.ctx.program, two.ctx.program, within_mm),
        left=left,
        left_missing=missing,
    )


def _left_over(a: Looked, b: Looked) -> tuple[LeftOver | None, str]:
    one, two = a.ctx.removal, b.ctx.removal
    if one is None or two is None:
        return None, a.ctx.removal_missing if one is None else b.ctx.removal_missing
    first, second = one.final, two.final
    if not _same_cells(first, second):
        return None, "the two cuts were simulated on different cells"
    rise = second.height_mm - first.height_mm
    differs = np.abs(rise) > COMPARE_HEIGHT_MM
    cell = first.cell_mm**2
    row, column = np.unravel_index(int(np.argmax(np.abs(rise))), rise.shape)
    return (
        LeftOver(
            area_mm2=float(differs.sum()) * cell,
            more_in_a_mm3=float(-rise[differs & (rise < 0)].sum(dtype=np.float64)) * cell,
            more_in_b_mm3=float(rise[differs & (rise > 0)].sum(dtype=np.float64)) * cell,
            greatest_mm=float(rise[row, column]),
            x_mm=first.x0_mm + float(column) * first.cell_mm,
            y_mm=first.y0_mm + float(row) * first.cell_mm,
        ),
        "",
    )


def _same_cells(a: Heightfield, b: Heightfield) -> bool:
    same_place = abs(a.x0_mm - b.x0_mm) < 1e-9 and abs(a.y0_mm - b.y0_mm) < 1e-9
    return a.height_mm.shape == b.height_mm.shape and abs(a.cell_mm - b.cell_mm) < 1e-12 and same_place


def findings_by_code(report: CheckReport) -> dict[str, str]:
    """Codes that a report holds, with the severity of each.

    report: A check.
    Returns: Worst severity by code.
    """
    found: dict[str, str] = {}
    for finding in report.findings:  # worst first
        found.setdefault(finding.code, finding.severity)
    return found
