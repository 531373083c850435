"""A proof strip that stops before its cuts ask for more than what holds the scrap."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from millcalc.advise.proof import Strip
from millcalc.check.model import CheckReport
from millcalc.check.run import look_over
from millcalc.job.setup import Setup

TRIES: Final = 5  # the force is nearly proportional to the depth: one or two do
BELOW: Final = 0.99  # of the depth in proportion, for what is not


def held_strip(
    whole: Strip, make: Callable[[float], Strip], setup: Setup | None, name: str
) -> tuple[Strip, CheckReport]:
    """Check a strip, and write it shallower while the check says that the hold-down bears less.

    whole: The strip, as deep as the cut alone allows.
    make: Gives a strip no deeper than a depth [mm].
    setup: The job that says how the scrap is held.
    name: Name of the program.
    Returns: The strip and its check; the last one tried where none is held.
    """
    strip = whole
    report = look_over(strip.program.encode("utf-8"), name, setup).report
    for _ in range(TRIES):
        share = _held_share(report)
        if share >= 1.0:
            break
        deepest = max(step.depth_mm for step in strip.steps)
        strip = make(BELOW * share * deepest)
        report = look_over(strip.program.encode("utf-8"), name, setup).report
    return strip, report


def _held_share(report: CheckReport) -> float:
    """How much of the force that is asked for is held; 1 where all is, or a depth is no remedy."""
    shares = [
        found.limit / found.measured
        for found in report.findings
        if found.code == "FORCE-06" and found.unit in ("N", "%") and found.limit and found.measured
    ]
    return min([1.0, *shares])
