"""Raised copies: every way of writing a height, what cannot be raised, and the comparison itself."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from millcalc.errors import InputError, ManyErrors, ProgramError
from millcalc.gcode.motions import FLAG_HOME, FLAG_MACHINE
from millcalc.rewrite.edits import Edit, apply, is_literal, raised
from millcalc.rewrite.lift import lift
from millcalc.rewrite.lift_compare import compare_raised
from tests.properties.test_gcode_fuzz import Row, programs, tries
from tests.rewrite.desks import desk, plate, slot

START = "G21 G90 G17 G94\nG0 Z5\n"


def lifted(text: str, by: float = 10.0) -> list[str]:
    return lift(desk(text), by).data.decode().splitlines()


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("G1 X1 Z-1.250 F100", "G1 X1 Z8.750 F100"),
        ("g1 z -.5 f9", "g1 z 9.5 f9"),
        ("N10G1X1Z-10(a Z-3 b)F9", "N10G1X1Z0(a Z-3 b)F9"),
        ("G1 Z+2. F9 ; Z1", "G1 Z12. F9 ; Z1"),
        ("G91 G1 Z-6 F9", "G91 G1 Z-6 F9"),
        ("G81 X1 Y1 Z-4 R1 F9", "G81 X1 Y1 Z6 R11 F9"),
        ("G99 G83 X1 Y1 Z-4 R1 Q2 F9", "G99 G83 X1 Y1 Z6 R11 Q2 F9"),
        ("G91 G81 X1 Y1 Z-4 R-2 F9", "G91 G81 X1 Y1 Z-4 R-2 F9"),
        ("G2 X2 Y0 Z-1 I1 J0 F9", "G2 X2 Y0 Z9 I1 J0 F9"),
        ("G18 G2 X0 Z3 I0 K-1 F9", "G18 G2 X0 Z13 I0 K-1 F9"),
        ("G92 Z0", "G92 Z10"),
        ("G53 G0 Z0", "G53 G0 Z0"),
        ("G28 Z8", "G28 Z18"),
        ("G91 G28 Z0", "G91 G28 Z0"),
        ("G43.1 Z3", "G43.1 Z3"),
        ("G10 L2 P1 Z3", "G10 L2 P1 Z3"),
    ],
)  # fmt: skip
def test_how_a_height_is_written(line: str, expected: str) -> None:
    text = START + "G0 X0 Y0\n" + line + "\nM30\n"
    assert lifted(text)[3] == expected


def test_absolute_centre_of_an_upright_arc_is_raised() -> None:
    text = START + "G0 X0 Y0\nG90.1 G18\nG2 X2 Z5 I1 K5 F90\nM30\n"
    assert lifted(text)[4] == "G2 X2 Z15 I1 K15 F90"


def test_after_the_machines_own_height_the_first_step_is_raised() -> None:
    """G28 goes to a height of the machine, which stays; the step down from it is that much shorter."""
    text = START + "G28\nG91\nG0 Z-30\nG1 Z-1 F90\nG1 X5\nM30\n"
    assert lifted(text)[4:6] == ["G0 Z-20", "G1 Z-1 F90"]


def test_inches_are_raised_by_what_they_can_say() -> None:
    done = lift(desk("G20 G90 G17 G94\nG0 Z0.5\nG1 Z-0.1 F9\nM30\n"), 10.0)
    assert done.height_mm == pytest.approx(0.3938 * 25.4) and done.height_mm >= 10.0
    assert b"Z0.2938 F9" in done.data
    assert done.notes


def test_both_units_in_one_program() -> None:
    done = lift(desk("G20 G90 G17 G94\nG0 Z0.5\nG21\nG1 Z-1 F90\nM30\n"), 10.0)
    assert Decimal(str(done.height_mm)) % Decimal("0.127") == 0
    assert b"Z0.895" in done.data and b"Z9.033" in done.data


@pytest.mark.parametrize("end", [b"\r\n", b"\n", b"\r"])
def test_bytes_stay(end: bytes) -> None:
    text = (
        b"\xef\xbb\xbf(Wetterh\xe4uschen \x80)"
        + end
        + b"G21 G90 G17 G94"
        + end
        + b"G0 Z5"
        + end
        + b"G1 Z-1 F9 "
    )
    data = text + end + b"M30" + end
    done = lift(desk(data), 7.0)
    assert done.data == data.replace(b"Z5", b"Z12").replace(b"Z-1", b"Z6")


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        ("G1 Z[1-2] F9", "computed"),
        ("#1=3\nG1 Z#1 F9", "computed"),
        ("G38.2 Z-5 F9", "probing"),
        ("G68 X0 Y0 R30\nG1 X5 F9", "rotates"),
        ("G87 X1 Y1 Z-1 R1 I1 J1 K1 F9", "G87"),
        ("A90\nG1 X5 F9", "rotary"),
        ("G28\nG1 X5 F9", "did not set"),
        ("G28\nG81 X1 Y1 Z-4 R1 F9", "canned cycle before"),
    ],
)
def test_what_cannot_be_raised_is_refused_with_its_line(lines: str, found: str) -> None:
    with pytest.raises(ProgramError, match=found) as caught:
        lift(desk(START + lines + "\nM30\n"), 10.0)
    assert caught.value.line is not None and caught.value.line >= 3


def test_every_refused_line_is_named() -> None:
    with pytest.raises(ManyErrors) as caught:
        lift(desk(START + "#1=2\nG1 Z#1 F9\nG1 Z[3] F9\nM30\n"), 10.0)
    assert [error.line for error in caught.value.errors] == [4, 5]


def test_a_step_that_means_two_heights_is_refused() -> None:
    """The same line is run once from a raised height and once from the machine's own."""
    text = START + "o1 sub\nG91\nG0 Z-1\nG90\no1 endsub\no1 call\nG28\no1 call\nM30\n"
    with pytest.raises(ProgramError, match="more than once"):
        lift(desk(text), 10.0)


def test_a_program_with_subprograms_is_raised() -> None:
    text = START + "o1 sub\nG1 Z-1 F9\nG1 X5\nG0 Z5\no1 endsub\no1 call\nG0 X9\no1 call\nM30\n"
    assert lifted(text)[3] == "G1 Z9 F9"


def test_the_job_decides_how_high() -> None:
    done = lift(desk(slot(), plate()))
    assert done.heights.obstacle is not None and "screw" in done.heights.obstacle
    assert done.heights.lowest_mm >= done.heights.obstacle_mm + 2.0 - 1e-9
    with pytest.raises(InputError, match="at least"):
        lift(desk(slot(), plate()), 1.0)
    with pytest.raises(InputError, match="upper end"):
        lift(desk(slot(), plate()), 100.0)


@pytest.mark.parametrize("by", [0.0, -3.0, float("nan"), float("inf"), 1e9])
def test_impossible_heights(by: float) -> None:
    with pytest.raises(InputError):
        lift(desk(slot()), by)


def test_without_a_height_a_job_is_needed() -> None:
    with pytest.raises(InputError, match="job"):
        lift(desk(slot()))


def test_two_byte_text_and_nothing_are_refused() -> None:
    with pytest.raises(ProgramError, match="UTF-16"):
        lift(desk(slot().encode("utf-16")), 5.0)
    for text in ("", "(only a comment)\n", "G21 G90\nM30\n"):
        with pytest.raises(ProgramError):
            lift(desk(text), 5.0)


@pytest.mark.parametrize(
    "change", [("X90", "X91"), ("Z-0.350", "Z-0.351"), ("F380", "F381"), ("S13200", "S13000")]
)
def test_the_comparison_sees_every_difference(change: tuple[str, str]) -> None:
    """A copy with one more difference than its height must not pass."""
    work = desk(slot())
    good = lift(work, 10.0).data
    old, new = change
    if old.startswith("Z"):
        old, new = "Z9.650", "Z9.651"
    wrong = good.replace(old.encode(), new.encode())
    assert wrong != good
    with pytest.raises(ProgramError):
        compare_raised(work, work.read(work.data, None), work.read(wrong, None), wrong, 10.0)


@tries(60)
@given(programs(), st.integers(1, 60_000).map(lambda k: k / 1000))
def test_any_program_is_raised_evenly_or_refused(made: tuple[str, list[Row]], by: float) -> None:
    work = desk(made[0])
    try:
        done = lift(work, by)
    except ProgramError:
        assert "[" in made[0] or "#" in made[0], made[0]  # only computed heights can stand in the way here
        return
    old, new = work.read(work.data, None).motions, work.read(done.data, None).motions
    own = (old.flags & (FLAG_HOME | FLAG_MACHINE)) == 0
    np.testing.assert_allclose(new.end_mm[own, 2] - old.end_mm[own, 2], done.height_mm, atol=1e-6)
    np.testing.assert_array_equal(new.end_mm[:, :2], old.end_mm[:, :2])
    assert done.height_mm >= by - 1e-9 and done.height_mm < by + 0.2


@given(st.decimals(-999, 999, places=3), st.decimals(0, 99, places=3))
@tries(100)
def test_numbers_are_added_exactly(value: Decimal, by: Decimal) -> None:
    text = raised(f"Z{value}", by)
    assert is_literal(text) and Decimal(text[1:]) == value + by


def test_edits_that_overlap_are_refused() -> None:
    program = desk("G1 X1 F90\n").read(b"G1 X1 F90\n", None)
    with pytest.raises(ValueError, match="overlap"):
        apply(program, [Edit(1, 3, 9, "a"), Edit(1, 6, 9, "b")])
