"""What the log of cuts adds to an advice on the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.cli.say import say

if TYPE_CHECKING:
    from millcalc.limits.tooling import Tooling


def with_learned(tooling: Tooling, cut: str = "slot", *, trusted: bool = False) -> Tooling:
    """The same with what the log has taught about this machine and this cutter; unchanged without a log.

    tooling: What cuts what.
    cut: Kind of cut.
    trusted: Whether to refuse a machine whose cuts failed far below what is computed.
    Returns: With margins, failures, and a sentence about them.
    Raises InputError: If it is refused.
    """
    from pathlib import Path

    from millcalc.cutlog.taught import refuse_untrusted, taught

    learned, problem = taught(tooling, Path.cwd(), " (--no-learn leaves it out)", cut=cut)
    if problem:
        say(problem, err=True)
    if trusted:
        refuse_untrusted(learned)
    return learned
