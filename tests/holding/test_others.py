"""Tape, vacuum, vice and unlisted screws in the planner: what they hold, the figures, and what is still asked for."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from millcalc.holding.find import find_hold_down
from millcalc.holding.result import HoldDown
from millcalc.report.screws_text import print_screws
from millcalc.units_beside import show_forces
from tests.holding.cases import context, plate, program, rectangle

THROUGH = program(rectangle(50, 30, 110, 80, 6.3))
GROOVE = program(rectangle(50, 30, 110, 80, 1.0))


def asked(hold: object, text: str = THROUGH, **changes: object) -> HoldDown:
    return find_hold_down(context(text, plate(hold=hold, **changes)))


def shown(answer: HoldDown) -> str:
    out = io.StringIO()
    print_screws(Console(file=out, width=80), answer, (), (), name="plate.nc", picture=False)
    return out.getvalue()


def test_without_any_hold_screws_are_proposed() -> None:
    answer = asked(None)
    assert answer.proposal and not answer.others


def test_tape_holds_the_freed_piece_too() -> None:
    answer = asked([{"kind": "tape", "area": "120 cm2", "shear": "100 kPa"}])
    assert not answer.proposal and not answer.problems
    assert len(answer.pieces) == 2 and all(piece.held for piece in answer.pieces)
    assert {piece.by for piece in answer.pieces} == {"tape, 120 cm2 at 100 kPa"}
    (told,) = answer.others
    assert told.startswith("T1, line ") and "% of what tape, 120 cm2 at 100 kPa may be counted on for" in told
    assert "(600 N sideways, 150 N upwards, " in told


def test_a_vice_holds_the_sheet_only() -> None:
    answer = asked([{"kind": "vice", "force": "3000 N"}])
    sheet, piece = answer.pieces
    assert sheet.by == "vice, pressing with 3000 N" and sheet.held and not sheet.screws
    assert piece.screws and not piece.by
    assert any(text.startswith("whether the work can turn") for text in answer.not_checked)


def test_too_little_tape_is_a_problem_with_its_remedy() -> None:
    answer = asked([{"kind": "tape", "area": "10 cm2"}], GROOVE)
    (problem,) = answer.problems
    assert "tape, 10 cm2 may be counted on for 25 N sideways" in problem and " cm2 of tape, or" in problem
    assert not answer.fine
    area = problem.rsplit("; ", 1)[1].split(" of tape")[0]
    assert asked([{"kind": "tape", "area": area}], GROOVE).fine


def test_unknown_is_named() -> None:
    answer = asked([{"kind": "unknown"}], GROOVE)
    assert "part of what holds the work: how is it held?" in answer.not_checked


def test_the_person_reads_what_holds() -> None:
    text = " ".join(
        shown(asked([{"kind": "vacuum", "area": "150 cm2", "pressure": "80 kPa"}], GROOVE)).split()
    )
    assert "the sheet, 160 mm by 110 mm: vacuum, 150 cm2 at 80 kPa" in text
    assert "while it is all one: T1, line" in text and "(120 N sideways, 600 N upwards, " in text
    assert "no screw or clamp given, vacuum, 150 cm2 at 80 kPa" in text
    assert "no screw, something else holds" in text


@pytest.mark.parametrize(
    ("one", "other", "words"),
    [
        (88.1, 86.9, ("88 N", "87 N")),
        (87.4, 86.9, ("87.4 N", "86.9 N")),
        (86.94, 86.90, ("86.94 N", "86.9 N")),
        (50.0, 50.0, ("50 N", "50 N")),
    ],
)
def test_two_forces_read_as_different_where_they_are(
    one: float, other: float, words: tuple[str, str]
) -> None:
    assert show_forces(one, other) == words
