"""What every order of the process that reads a stranger's program has: its files, and the options of its check."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from millcalc.check.prepare import CheckOptions

Facts = dict[str, Any]


def paths(order: Facts) -> tuple[Path, Path | None]:
    """The files of an order.

    order: As for every order.
    Returns: Program and job; None where it has no job.
    """
    return Path(order["program"]), Path(order["job"]) if order.get("job") else None


def heard(order: Facts, tell: Callable[[str, float], None]) -> CheckOptions:
    """Options of a check: the log counts, as in settings.

    order: As for every order.
    tell: Told how far it is.
    Returns: The options.
    """
    from millcalc.cutlog.taught import learner

    return CheckOptions(units=order["units"], progress=tell, learned=learner(Path.cwd()))
