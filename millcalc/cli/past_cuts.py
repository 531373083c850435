"""What the log of cuts adds to an advice on the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.cli.say import say

if TYPE_CHECKING:
    from millcalc.advise.result import Advice
    from millcalc.check.prepare import Learner
    from millcalc.limits.tooling import Tooling
    from millcalc.units_show import System


def learner(learn: bool = True) -> Learner | None:
    """What puts the log's lessons into a check; None without a log, or where they are not asked for.

    learn: Whether the log counts.
    Returns: For the options of a check; another process can be given it.
    """
    if not learn or not _log_here():
        return None
    from millcalc.cutlog import taught

    return taught.learner(Path.cwd())


def with_learned(tooling: Tooling, cut: str | None = "slot", *, trusted: bool = False) -> Tooling:
    """The same with what the log has taught about this machine and this cutter; unchanged without a log.

    tooling: What cuts what.
    cut: Kind of cut; None takes what failed of every kind.
    trusted: Whether to refuse a machine whose cuts failed far below what is computed.
    Returns: With margins, failures, and a sentence about them.
    Raises InputError: If it is refused.
    """
    if not _log_here():
        return tooling
    from millcalc.cutlog.taught import refuse_untrusted, taught

    learned, problem = taught(tooling, Path.cwd(), " (--no-learn leaves it out)", cut=cut)
    if problem:
        say(problem, err=True)
    if trusted:
        refuse_untrusted(learned)
    return learned


def said_by_log(
    answer: Advice, units: System, *, proven: bool = False
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The past cuts most like an advised one, and what is proven on this machine beside it.

    answer: What is advised.
    units: Units of the sentences.
    proven: Whether every limit is used in full already; then nothing proven stands beside it.
    Returns: A sentence a cut; both empty without a log.
    """
    if not _log_here():
        return (), ()
    from millcalc.cutlog.experience import proven_beside
    from millcalc.cutlog.past import past_cuts
    from millcalc.report.log_text import similar_line
    from millcalc.report.proven_here_text import proven_text

    past = tuple(similar_line(one, units) for one in past_cuts(answer, Path.cwd()))
    known = None if proven else proven_beside(answer, Path.cwd())
    return past, proven_text(known, answer, units) if known is not None else ()


def _log_here() -> bool:
    """Whether there is a log that counts in the working folder, seen without opening it."""
    from millcalc.cutlog.where import log_path

    path = log_path(None, Path.cwd())
    return path.is_file() and path.stat().st_size > 0
