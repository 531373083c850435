"""``millcalc correct``: a copy in which only feeds and speeds are changed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.options import Accept, Cell, Force, JobUnits, Learn, Profile
from millcalc.findings import Severity

if TYPE_CHECKING:
    from millcalc.cli.rewriting import Page
    from millcalc.rewrite.correct import Corrected
    from millcalc.rewrite.corrected import Change

SHOWN = 20  # changes told one by one; the rest counted
BLOCKS = 5  # of what remains; the rest counted


def command(
    program: Annotated[Path, typer.Argument(help="Program file; it is never changed.")],
    new: Annotated[Path, typer.Option("--out", "-o", help="Where the corrected copy goes.")],
    job: Annotated[Path, typer.Option(help="Job file: machine, material, stock, cutters.")],
    by_engagement: Annotated[
        bool, typer.Option("--by-engagement", help="Give each cut the feed that suits its own width of cut.")
    ] = False,
    accept: Accept = None,
    learn: Learn = True,
    units: JobUnits = None,
    profile: Profile = None,
    cell: Cell = None,
    all_: Annotated[bool, typer.Option("--all", help="Every change, not only the first twenty.")] = False,
    force: Force = False,
) -> None:
    """A corrected copy: only F and S words change, each one is listed, and the copy is checked again."""
    from millcalc.check.prepare import CheckOptions
    from millcalc.cli.common import accepted_findings, cell_size_mm
    from millcalc.cli.past_cuts import learner
    from millcalc.cli.rewriting import NOT_A_PROMISE, Page, make_desk
    from millcalc.cli.watched import watched
    from millcalc.rewrite.correct import correct
    from millcalc.rewrite.files import check_target, write_copy

    check_target(new, program, job, force=force)
    options = CheckOptions(
        units.value if units else None,
        accepted_findings(accept),
        cell_mm=cell_size_mm(cell),
        profile=profile,
        learned=learner(learn),
    )
    with watched(options) as seen:
        result = correct(make_desk(program, job, seen), by_engagement=by_engagement)
    page = Page()
    if not result.good and not result.changes:
        _refused(page, program, new, result)
        raise typer.Exit(1)
    write_copy(new, result.data, program, force=force)
    if not result.good:
        _half_mended(page, new, result)
    _done(page, program, new, result)
    _changes(page, result.changes, all_)
    _accepted_and_unchecked(page, result)
    page.say()
    page.say(NOT_A_PROMISE, style="dim")
    if not result.good:
        raise typer.Exit(1)


def _done(page: Page, program: Path, new: Path, result: Corrected) -> None:
    count = len(result.changes)
    lines = len({c.line for c in result.changes})
    page.say(
        f"{new}: {program.name} with {count} word{'s' if count != 1 else ''} changed in {lines} "
        f"line{'s' if lines != 1 else ''}"
        if count
        else f"{new}: nothing had to be changed; the copy equals {program.name}",
        style="bold",
    )
    page.say(
        "Everything else is the same, byte for byte. The copy was read again, compared motion by motion, and "
        f"checked: {'no stop and no warning in what was checked' if result.good else 'what remains stands above'}.",
        indent=2,
    )


def _changes(page: Page, changes: tuple[Change, ...], everything: bool) -> None:
    if not changes:
        return
    from millcalc.rewrite.say import change_words

    page.head("changes")
    shown = changes if everything else changes[:SHOWN]
    for change in shown:
        what, unit = change_words(change)
        page.say(f"line {change.line:<6} {what:<32} {unit:<8} {change.why}", 2, keep=True)
    if len(changes) > len(shown):
        page.say(f"and {len(changes) - len(shown)} more (--all)", indent=2)


def _refused(page: Page, program: Path, new: Path, result: Corrected) -> None:
    page.say(f"{program.name}: feeds and speeds cannot mend this; {new} was not written", style="bold")
    _remains(page, result)


def _half_mended(page: Page, new: Path, result: Corrected) -> None:
    """Say loudly, before anything else, that the copy is not fit to run yet, and what to do."""
    stops = sum(finding.severity is Severity.STOP for finding in result.left)
    rest = len(result.left) - stops
    named = [f"{stops} stop{'s' * (stops != 1)}"] * bool(stops) + [
        f"{rest} warning{'s' * (rest != 1)}"
    ] * bool(rest)
    page.say(
        f"{'DO NOT RUN' if stops else 'NOT YET DONE'}: {new} holds what feeds and speeds can mend; "
        f"{' and '.join(named)} remain{'s' * (len(result.left) == 1)}",
        style="bold red",
    )
    _remains(page, result)


def _remains(page: Page, result: Corrected) -> None:
    from millcalc.preflight.blocks import blocks

    page.say()
    told = blocks(result.context, result.left)
    for block in told[:BLOCKS]:
        head, *with_it = (result.left[place] for place in block.findings)
        page.findings([replace(head, action=block.remedy)])
        if with_it:
            page.say("with it: " + ", ".join(finding.code for finding in with_it), indent=4, hang=2)
    if len(told) > BLOCKS:
        page.say(f"and {len(told) - BLOCKS} more", indent=2)
    page.say()
    page.say(
        "Have the program written anew with these in mind, then correct or check it again; what you can vouch for "
        "you may accept with --accept CODE=reason.",
        indent=2,
    )
    page.say()


def _accepted_and_unchecked(page: Page, result: Corrected) -> None:
    from millcalc.rewrite.say import BEFORE_THE_CUT

    if result.after.quieted:
        page.head("accepted by you")
        for entry in result.after.quieted:
            page.say(f"{entry.finding.code}: {entry.finding.fact}", indent=2, hang=2)
    if result.after.not_checked:
        page.head(f"not checked ({len(result.after.not_checked)})")
        for because in list(dict.fromkeys(entry.because for entry in result.after.not_checked))[:6]:
            page.say(because, indent=2)
    page.head("before the cut")
    page.boxes(BEFORE_THE_CUT)
