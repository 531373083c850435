"""What the log of cuts adds to an advice on the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.cli.say import say

if TYPE_CHECKING:
    from millcalc.limits.tooling import Tooling


def with_learned(tooling: Tooling) -> Tooling:
    """The same with the margins that the log has taught about this machine; unchanged without a log.

    tooling: What cuts what.
    Returns: With margins and a sentence about them.
    """
    from pathlib import Path

    from millcalc.cutlog.taught import taught

    learned, problem = taught(tooling, Path.cwd(), " (--no-learn leaves it out)")
    if problem:
        say(problem, err=True)
    return learned
