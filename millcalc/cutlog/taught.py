"""What the log has taught about a machine, put into what cuts what."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from millcalc.cutlog import margins as learnt
from millcalc.cutlog.experience import cuts_like, failed_cuts
from millcalc.cutlog.store import Log
from millcalc.cutlog.where import log_path
from millcalc.errors import InputError, LogError
from millcalc.limits.learned_words import LIMIT_WORDS
from millcalc.limits.tooling import Margins, Tooling

MILLED = ("slot", "side", "face")
KINDS = ("deflection", "power", "thrust", "chatter", "chip_high")
# limits whose numbers a person can measure, and with which command
TO_MEASURE = {"deflection": "stiffness", "power": "speed", "thrust": "thrust"}


def taught(
    tooling: Tooling, folder: Path, how_not: str = "", *, cut: str | None = "slot"
) -> tuple[Tooling, str]:
    """The same with what the log has taught about this machine and this cutter; unchanged without a log.

    tooling: What cuts what.
    folder: Working folder, whose own log goes first.
    how_not: How to leave it out, said beside it.
    cut: Kind of cut, whose failures count; None counts those of every kind, for a program that may make any.
    Returns: With margins, failures and a sentence about them; and why the log, or entries of it, were left out;
      empty where none was.
    """
    (known,), problem = all_taught((tooling,), folder, how_not, cut=cut)
    return known, problem


def all_taught(
    toolings: Sequence[Tooling], folder: Path, how_not: str = "", *, cut: str | None = None
) -> tuple[list[Tooling], str]:
    """The same for several toolings of one job, from a log that is opened once.

    toolings: Cutters of one machine in one material.
    folder, how_not, cut: As in :func:`taught`.
    Returns: Each with what was learned, and the first reason why the log, or entries of it, were left out.
    """
    path = log_path(None, folder)
    if not toolings or not path.is_file() or path.stat().st_size == 0:
        return list(toolings), ""
    try:
        with Log(path, create=False, readonly=True) as log:
            found = _margins(log, toolings[0])
            known = [taught_by(log, one, how_not, cut=cut, found=found) for one in toolings]
    except LogError as error:
        return list(toolings), f"the log was left out: {error}"
    return [one for one, _ in known], next((problem for _, problem in known if problem), "")


def learner(folder: Path) -> Callable[[Sequence[Tooling]], tuple[list[Tooling], str]]:
    """What puts the log's lessons into a check, failures of every kind of cut among them.

    folder: Working folder, whose own log goes first.
    Returns: For the options of a check; another process can be given it.
    """
    return partial(all_taught, folder=folder)


def _margins(log: Log, tooling: Tooling) -> learnt.Margins:
    return learnt.learned_margins(tooling.machine.name, material=tooling.material.name, log=log)


def taught_by(
    log: Log,
    tooling: Tooling,
    how_not: str = "",
    *,
    cut: str | None = "slot",
    found: learnt.Margins | None = None,
) -> tuple[Tooling, str]:
    """The same from an open log.

    log: Open log.
    tooling, how_not, cut: As in :func:`taught`.
    found: What was learned of the machine and the material; None looks for it.
    Returns: As :func:`taught`.
    Raises LogError: If the log cannot be read.
    """
    found = found or _margins(log, tooling)
    kinds = MILLED if cut is None else (cut,)
    failed = tuple(one for kind in kinds for one in failed_cuts(cuts_like(log, tooling, kind), kind))
    problem = ""
    if found.left_out:
        named = ", ".join(map(str, found.left_out[:5])) + (" ..." if len(found.left_out) > 5 else "")
        problem = f"left out of the log: entry {named}; `millcalc log verify` says why"
    if not found.changed and not failed:
        return tooling, problem
    words = "; ".join(one.text for one in found.changed)
    told = f"learned from the log{how_not}: {words}" if words else ""
    factors = {kind: found.advised(kind) for kind in KINDS}
    # the smallest chip is a limit from below: a larger share of it means a thinner chip still cuts
    margins = Margins(
        **factors,
        chip_low=1.0 / found.advised("chip_low"),
        text=told,
        measure="; ".join(
            one.text for one in found.by_kind.values() if one.kind in TO_MEASURE and one.refuses
        ),
        failed=failed,
    )
    return tooling.with_changes(margins=margins), problem


def refuse_untrusted(tooling: Tooling) -> None:
    """Refuse to advise with limits that cuts of this machine have shown to be far off.

    tooling: With what the log has taught.
    Raises InputError: If several cuts failed below half of one computed limit, and the log does not explain it.
    """
    if not tooling.margins.measure:
        return
    name = tooling.machine.name
    how = [kind for word, kind in TO_MEASURE.items() if f"{LIMIT_WORDS[word]}:" in tooling.margins.measure]
    raise InputError(
        f"cuts of {name} that failed far below what is computed: {tooling.margins.measure}",
        "a machine whose numbers agree with its cuts",
        "measure it ("
        + ", ".join(f"millcalc measure {kind}" for kind in how)
        + "), put the values into its file, and "
        "note it with `millcalc log machine-changed`; settings --no-learn shows the computed numbers all the same",
    )
