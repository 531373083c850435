"""Where the work can be held, for a terminal: the given hold-downs, a map, the proposal, lines for the job."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from millcalc.check.cautions import FOOTER
from millcalc.holding.result import ClampRun, HoldDown, Move, Nearest, Piece, Proposed, Verdict
from millcalc.report.console import can_show_unicode
from millcalc.report.printer import Printer
from millcalc.report.screws_map import map_lines
from millcalc.units_beside import show_forces
from millcalc.units_show import System, show_length

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.findings import Finding

NEW_MARKS = "123456789abcdefghijklmnopqrstuvwyz"
SHOWN_PIECES = 8
SHOWN_RUNS = 4  # stretches of one edge
LOOK = (
    "Screws really stand there: mark from program zero, or let the machine mark the holes.",
    "Holes bored first; heads flat on the work; nothing below the board is hit.",
    "The wood under each screw is sound: no old hole, no edge of the board, no joint.",
    "The cutter and its stickout are those of the job.",
)


class _Page(Printer):
    """A printer that shows lengths in the person's units."""

    def __init__(self, console: Console, units: System) -> None:
        super().__init__(console)
        self.units = units

    def mm(self, value: float | None, step: float | None = None) -> str:
        return show_length(value, self.units, step if self.units == "mm" else None)

    def point(self, at: tuple[float, float]) -> str:
        return f"X {self.mm(at[0])}, Y {self.mm(at[1])}"


def print_screws(
    console: Console,
    answer: HoldDown,
    lines: tuple[str, ...],
    again: tuple[Finding, ...],
    *,
    name: str,
    units: System = "mm",
    picture: bool = True,
) -> None:
    """Print the whole answer.

    console: Where to print.
    answer: What was found.
    lines: The screws as lines for the job file.
    again: What the check's rules say of the proposal.
    name: Name of the program.
    units: ``mm`` or ``in``.
    picture: Whether to print the map.
    """
    page = _Page(console, units)
    new = [p for p in answer.proposal if not p.given]
    _top(page, answer, name)
    _verdicts(page, answer)
    marks = {id(p): NEW_MARKS[k] if k < len(NEW_MARKS) else "*" for k, p in enumerate(new)}
    if picture:
        page.head("where a screw can stand")
        for line in map_lines(answer, marks, unicode=can_show_unicode(console.file)):
            page.raw("  " + line)
    _clamp_runs(page, answer)
    _proposal(page, answer, marks)
    _pieces(page, answer)
    _problems(page, answer, again)
    if new or len(answer.proposal) != sum(v.kind == "screw" and v.holds for v in answer.verdicts):
        page.head("for the job file, in place of its screws")
        for line in lines:
            page.raw(line)
    _rest(page, answer)


def _top(page: _Page, answer: HoldDown, name: str) -> None:
    found = sum(not v.clear for v in answer.verdicts)
    if found:
        verdict = f"{found} of {len(answer.verdicts)} given hold-downs in the way"
    elif answer.verdicts:
        verdict = f"{len(answer.verdicts)} given hold-downs clear of the path"
    else:
        by = answer.pieces[0].by if answer.pieces else ""
        verdict = f"no screw or clamp given, {by}" if by else "no hold-down given"
    page.say(f"{name}  ·  {verdict}", style="bold")
    margin = page.mm(answer.kept_mm)
    page.say(
        f"screw: {_screw_words(page, answer)}; {margin} kept from the cutter ({answer.screw.placed} positions), "
        f"{page.mm(answer.holder_kept_mm)} from nut, body and shoe",
        indent=2,
        hang=2,
    )
    for text in answer.assumed:
        page.say(f"assumed: {text}", indent=2, hang=2)


def _screw_words(page: _Page, answer: HoldDown) -> str:
    screw = answer.screw
    text = screw.size or f"head {page.mm(screw.head_diameter_mm)}"
    if screw.depth_in_bed_mm is not None:
        text += f", {page.mm(screw.depth_in_bed_mm)} of thread in the board"
    return text


def _near(page: _Page, nearest: Nearest) -> str:
    if nearest.gap_mm is None:
        return "nothing comes down there"
    where = f" (line {nearest.line})" if nearest.line else ""
    if nearest.gap_mm <= 0:
        return f"the {nearest.body} overlaps it by {page.mm(-nearest.gap_mm)}{where}"
    return f"the {nearest.body} stays {page.mm(nearest.gap_mm, 0.01)} away, {page.mm(nearest.need_mm)} is kept{where}"


def _verdicts(page: _Page, answer: HoldDown) -> None:
    if not answer.verdicts:
        return
    page.head("given")
    for verdict in answer.verdicts:
        word = "clear" if verdict.clear else "IN THE WAY"
        holds = "" if verdict.holds else " (holds nothing, as the job says)"
        page.say(
            f"{word}: {verdict.name} at {page.point(verdict.at_mm)}{holds}: {_near(page, verdict.nearest)}",
            indent=2,
            hang=2,
            style="" if verdict.clear else "bold red",
        )
        for text in _ways_out(page, verdict):
            page.say(f"→ {text}", indent=4, hang=2)
        for note in verdict.notes:
            page.say(note, indent=4, hang=2)


def _ways_out(page: _Page, verdict: Verdict) -> list[str]:
    found = []
    if verdict.smallest is not None:
        move = verdict.smallest
        way = page.mm(math.hypot(move.dx_mm, move.dy_mm))
        found.append(f"smallest move {way}, to {page.point(move.to_mm)}")
    along = [_along(page, move) for move in verdict.along[:2]]
    if along:
        found.append("or along one axis: " + "; ".join(along))
    return found


def _along(page: _Page, move: Move) -> str:
    axis, value = ("X", move.to_mm[0]) if move.dx_mm else ("Y", move.to_mm[1])
    text = f"to {axis} {page.mm(value)}"
    if move.until_mm is not None and abs(move.until_mm - value) > 0.05:
        more = "further, up" if move.until_mm > value else "less, down"
        text += f" or {more} to {page.mm(move.until_mm)}"
    return text


def _clamp_runs(page: _Page, answer: HoldDown) -> None:
    width, reach, height = (page.mm(v) for v in answer.clamp_mm)
    page.head("where a clamp can stand")
    page.say(
        f"{width} wide, reaching {reach} over the stock, {height} high; its middle along each edge:", indent=2
    )
    for edge in ("front", "back", "left", "right"):
        runs = [run for run in answer.clamp_runs if run.edge == edge]
        page.say(f"{edge}: {_runs_words(page, runs)}", indent=4, hang=2)


def _runs_words(page: _Page, runs: list[ClampRun]) -> str:
    if not runs:
        return "nowhere"
    axis = "X" if runs[0].edge in ("front", "back") else "Y"
    shown = [
        f"{axis} {page.mm(run.low_mm)}" + ("" if run.high_mm == run.low_mm else f" to {page.mm(run.high_mm)}")
        for run in runs[:SHOWN_RUNS]
    ]
    more = f", and {len(runs) - SHOWN_RUNS} more" if len(runs) > SHOWN_RUNS else ""
    return "; ".join(shown) + more


def _proposal(page: _Page, answer: HoldDown, marks: dict[int, str]) -> None:
    new = [p for p in answer.proposal if not p.given]
    kept = len(answer.proposal) - len(new)
    if not new:
        none = "no screw"
        if not kept and any(piece.clamped for piece in answer.pieces):
            none = "no screw, something else holds; --count N proposes screws besides"
        page.head("proposal: " + (f"the {kept} given screws that stand clear" if kept else none))
        return
    page.head(f"proposal: {len(new)} new screws" + (f", {kept} given ones kept" if kept else ""))
    right = [(title, "right") for title in ("X", "Y", "spare")]
    table = page.table([("", "left"), *right, ("nearest", "left"), ("", "left")])
    for p in new:
        page.row(table, (marks[id(p)], page.mm(p.screw.x_mm), page.mm(p.screw.y_mm), *_room_cells(page, p)))
    page.show(table)
    page.say("spare: room beyond the distance that is kept, smallest over the whole program.", indent=2)


def _room_cells(page: _Page, proposed: Proposed) -> tuple[str, str, str]:
    nearest = proposed.nearest
    inside = "in a piece that comes loose" if proposed.piece else "inside a cut outline"
    where = inside if proposed.in_part else ""
    if nearest.spare_mm is None:
        return "any", "nothing comes down", where
    return page.mm(nearest.spare_mm, 0.1), f"{nearest.body}, line {nearest.line}", where


def _pieces(page: _Page, answer: HoldDown) -> None:
    page.head("what it holds")
    for index, piece in enumerate(answer.pieces[:SHOWN_PIECES]):
        page.say(_piece_words(page, piece, index), indent=2, hang=2)
    if len(answer.pieces) > SHOWN_PIECES:
        rest = answer.pieces[SHOWN_PIECES:]
        page.say(f"{len(rest)} more pieces, {sum(p.held for p in rest)} of them held", indent=2)
    for x, y, line in answer.gone[:3]:
        page.say(
            f"a piece about {page.point((x, y))} comes free in line {line} and is milled away later: nothing "
            "holds it in between",
            indent=2,
            hang=2,
        )
    if len(answer.gone) > 3:
        page.say(f"and {len(answer.gone) - 3} more such pieces", indent=2)
    for text in answer.others:
        page.say(f"while it is all one: {text}", indent=2, hang=2)
    if answer.load_n is not None and answer.holds_n is not None:
        needs, has = show_forces(answer.load_n, answer.holds_n, page.units)
        page.say(
            f"while it is all one: the most loaded screw needs {needs} of pull, one "
            f"holds {has} (withdrawal by the Wood Handbook's formula, divided by "
            f"{answer.safety:g})",
            indent=2,
            hang=2,
        )
        page.say(
            f"estimates in it: friction of {answer.friction:g} under tightened heads holds the side force, and "
            f"a board holds {answer.panel_share:g} of what solid wood of its density does",
            indent=2,
            hang=2,
        )
    if answer.span_mm is not None:
        limit = (
            "" if answer.span_limit_mm is None else f"; {page.mm(answer.span_limit_mm, 1.0)} is the most here"
        )
        page.say(f"farthest cut from a hold: {page.mm(answer.span_mm, 1.0)}{limit}", indent=2, hang=2)


def _piece_words(page: _Page, piece: Piece, index: int) -> str:
    steps = [1.0 if value >= 10.0 else 0.1 for value in piece.size_mm]  # cells tell no more
    size = " by ".join(page.mm(value, step) for value, step in zip(piece.size_mm, steps, strict=True))
    at = f"X {page.mm(piece.at_mm[0], 0.1)}, Y {page.mm(piece.at_mm[1], 0.1)}"
    name = f"the sheet, {size}" if index == 0 else f"a piece of {size} about {at}"
    if piece.clamped:
        how = (piece.by or "clamped") + (f", and {piece.screws} screws" if piece.screws else "")
    elif not piece.screws:
        return f"{name}: NOTHING holds it"
    else:
        how = f"{piece.screws} screw{'s' if piece.screws > 1 else ''}"
    if piece.load_n is not None and piece.holds_n is not None:
        how += ", {} of {} of pull".format(*show_forces(piece.load_n, piece.holds_n, page.units))
    if piece.turns:
        how += "; one screw holds it down, it may still turn about it"
    return f"{name}: {how}"


def _problems(page: _Page, answer: HoldDown, again: tuple[Finding, ...]) -> None:
    if answer.problems:
        page.head("does not hold yet")
        for text in answer.problems:
            page.say(f"! {text}", indent=2, hang=2, style="bold yellow")
    if not answer.proposal:
        return
    page.say()
    worst = [f for f in again if f.severity.word != "note"]
    if worst:
        for finding in worst:
            page.say(f"{finding.severity.word.upper()} {finding.code}: {finding.fact}", indent=2, hang=2)
    else:
        page.say(
            "checked again, each screw against each motion by the rules of `millcalc check`: they agree",
            indent=2,
        )


def _rest(page: _Page, answer: HoldDown) -> None:
    page.head("not looked at")
    for text in answer.not_checked:
        page.say(f"- {text}", indent=2, hang=2)
    page.say(
        f"- places closer together than {page.mm(answer.finest_mm)}: a narrower spot may exist",
        indent=2,
        hang=2,
    )
    page.head("look yourself")
    for text in LOOK:
        page.say(f"[ ] {text}", indent=2, hang=4)
    if any(p.in_part for p in answer.proposal):
        page.say(
            "[ ] A screw inside a cut outline leaves a hole in that piece; tabs leave none.", indent=2, hang=4
        )
    page.say()
    page.say(FOOTER, style="dim")
