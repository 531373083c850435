"""What tape, vacuum, vice, side clamps and unlisted screws hold: which pieces, and whether they bear the cut."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.findings import Finding
from millcalc.preflight.context import Context
from millcalc.preflight.hold_balance import balance_words, judge_kinds, on_the_bed
from millcalc.preflight.hold_kinds import FLAT, hold_words


@dataclass(frozen=True)
class Others:
    """The job's holds other than its listed screws and clamps.

    sheet: What holds the sheet, in words; empty when nothing does.
    each: What holds every piece that lies on it, in words; empty when nothing does.
    told: What the cut asks of them, a sentence a tool.
    problems: What they do not bear, each with what to do.
    unknown: What of them could not be judged.
    """

    sheet: str
    each: str
    told: tuple[str, ...]
    problems: tuple[str, ...]
    unknown: tuple[str, ...]

    def pieces(self, count: int) -> set[int]:
        """Which of the pieces, the sheet first, they hold.

        count: Number of pieces [-].
        Returns: Indices.
        """
        return set(range(count)) if self.each else set(range(min(count, 1))) if self.sheet else set()

    def of(self, index: int) -> str:
        """What holds a piece, in words.

        index: The piece; 0 is the sheet [-].
        Returns: Empty when nothing does.
        """
        return self.sheet if index == 0 else self.each


def other_holds(ctx: Context) -> Others:
    """Judge the holds that have no place of their own.

    ctx: Program, set-up and simulated cut.
    Returns: What they hold and bear.
    """
    setup = ctx.setup
    holds = on_the_bed(setup) if setup is not None else []
    problems, unknown = [], []
    if setup is not None and holds:
        for one in judge_kinds(ctx, setup, holds):
            if isinstance(one, Finding):
                problems.append(f"{one.fact}; {one.action}")
            else:
                unknown.append(f"{one.what}: {one.because}")
    if any(hold.kind == "unknown" for hold in (setup.job.hold if setup else None) or ()):
        unknown.append("part of what holds the work: how is it held?")
    return Others(
        " and ".join(hold_words(hold, ctx.units) for hold in holds),
        " and ".join(hold_words(hold, ctx.units) for hold in holds if hold.kind in FLAT),
        balance_words(ctx),
        tuple(problems),
        tuple(unknown),
    )
