"""What the log has taught about a machine, put into what cuts what."""

from __future__ import annotations

from pathlib import Path

from millcalc.cutlog.margins import learned_margins
from millcalc.cutlog.where import log_path
from millcalc.errors import LogError
from millcalc.limits.tooling import Margins, Tooling

KINDS = ("deflection", "power", "thrust", "chatter", "chip_high")


def taught(tooling: Tooling, folder: Path, how_not: str = "") -> tuple[Tooling, str]:
    """The same with the margins that the log has taught about this machine; unchanged without a log.

    tooling: What cuts what.
    folder: Working folder, whose own log goes first.
    how_not: How to leave them out, said beside them.
    Returns: With margins and a sentence about them; and why the log, or entries of it, were left out;
      empty where none was.
    """
    path = log_path(None, folder)
    if not path.is_file():
        return tooling, ""
    try:
        found = learned_margins(tooling.machine.name, material=tooling.material.name, log=path)
    except LogError as error:
        return tooling, f"the log was left out: {error}"
    problem = ""
    if found.left_out:
        named = ", ".join(map(str, found.left_out[:5])) + (" ..." if len(found.left_out) > 5 else "")
        problem = f"left out of the log: entry {named}; `millcalc log verify` says why"
    if not found.changed:
        return tooling, problem
    told = f"learned from the log{how_not}: " + "; ".join(one.text for one in found.changed)
    factors = {kind: found.advised(kind) for kind in KINDS}
    # the smallest chip is a limit from below: a larger share of it means a thinner chip still cuts
    margins = Margins(**factors, chip_low=1.0 / found.advised("chip_low"), text=told)
    return tooling.with_changes(margins=margins), problem
