"""What the log of cuts adds to an advice on the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.cli.say import say

if TYPE_CHECKING:
    from millcalc.limits.tooling import Tooling


def with_learned(tooling: Tooling, cut: str = "slot") -> Tooling:
    """The same with what the log has taught about this machine and this cutter; unchanged without a log.

    tooling: What cuts what.
    cut: Kind of cut.
    Returns: With margins, failures, and a sentence about them.
    """
    from pathlib import Path

    from millcalc.cutlog.taught import taught

    learned, problem = taught(tooling, Path.cwd(), " (--no-learn leaves it out)", cut=cut)
    if problem:
        say(problem, err=True)
    return learned
