"""What every rule is given: the program, the set-up and what was computed from both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from millcalc.gcode.program import Program
from millcalc.job.setup import Setup

if TYPE_CHECKING:
    from millcalc.stock.result import Removal


@dataclass(frozen=True)
class Context:
    """Input of the rules.

    Attributes
    ----------
    program : Program
        The program as read.
    setup : Setup or None
        The job; None when there is none.
    removal : Removal or None
        What the simulation found, one entry a motion; None when it could not run.
    """

    program: Program
    setup: Setup | None
    removal: Removal | None = None
