"""What every rule is given: the program, the set-up and what was computed from both."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, wraps
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from millcalc.gcode.program import Program
from millcalc.job.setup import Setup
from millcalc.preflight.facts import Facts
from millcalc.preflight.feed_model import FeedModel, feed_model
from millcalc.preflight.say import Say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from millcalc.job.setup import FittedCutter
    from millcalc.limits.tooling import Margins
    from millcalc.stock.result import Removal


@dataclass(frozen=True)
class Taught:
    """What the log of cuts has taught about the job's tools, as `settings` takes it.

    margins: By tool number; a tool that is not here is judged by the bare physics.
    trouble: Why the log, or entries of it, were left out; empty where none was.
    """

    margins: Mapping[int, Margins] = field(default_factory=dict)
    trouble: str = ""


@dataclass(frozen=True)
class Context:
    """Input of the rules.

    program: The program as read.
    setup: The job; None when there is none.
    removal: What the simulation found, one entry a motion; None when it could not run.
    units: Units in which findings speak to the person, ``mm`` or ``in``.
    quiet: Codes accepted for this run, with the reason.
    removal_missing: Why there is no removal, in words.
    taught: What the log has taught about the tools.
    kept: What functions marked `once` have computed for it.
    """

    program: Program
    setup: Setup | None
    removal: Removal | None = None
    units: Literal["mm", "in"] = "mm"
    quiet: Mapping[str, str] = field(default_factory=dict)
    removal_missing: str = "the cut was not simulated"
    taught: Taught = Taught()
    kept: dict[str, Any] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def facts(self) -> Facts:
        """Columns derived once from motions and set-up, shared by all rules."""
        return Facts(self.program.motions, self.setup, self.removal)

    @cached_property
    def say(self) -> Say:
        """Numbers and findings in the person's words."""
        peaks = self.removal.peak_place_mm if self.removal is not None else None
        return Say(self.program, self.units, self.facts.tool, peaks)

    @cached_property
    def edit(self) -> Say:
        """Numbers to write into the program, in the unit it is read in, whatever the person reads in."""
        seen = {code for code in ("G20", "G21") if code in self.program.units_seen}
        own: Literal["mm", "in"] = "in" if seen == {"G20"} else self.units if len(seen) > 1 else "mm"
        return self.say if own == self.units else Say(self.program, own, self.facts.tool)

    def by_cutter(self, mask: NDArray[np.bool_]) -> Iterator[tuple[int, NDArray[np.intp], FittedCutter]]:
        """Rows of a mask, one entry a tool number whose cutter the job names.

        mask: Motions of interest. (shape (n,))
        Yields: Tool number, its rows, ascending, and the cutter.
        """
        for tool, rows in self.facts.split(mask):
            fitted = self.facts.fitted(tool)
            if fitted is not None:
                yield tool, rows, fitted

    @property
    def proven(self) -> bool:
        """Whether the job says that the program went well before, so that no first cut's reserve is kept."""
        return self.setup is not None and self.setup.job.proven

    @cached_property
    def feeds(self) -> FeedModel | None:
        """Feeds the machine really reaches; None without a machine."""
        machine = self.setup.machine if self.setup else None
        return feed_model(self.program.motions, machine) if machine else None


Result = TypeVar("Result")


def once(function: Callable[[Context], Result]) -> Callable[[Context], Result]:
    """Compute a function of a context the first time it is asked for, and keep the result with the context.

    function: Takes a context alone.
    Returns: The same function, remembering.
    """
    name = f"{function.__module__}.{function.__qualname__}"

    @wraps(function)
    def remembering(ctx: Context) -> Result:
        if name not in ctx.kept:
            ctx.kept[name] = function(ctx)
        return ctx.kept[name]  # type: ignore[no-any-return]

    return remembering
