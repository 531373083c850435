"""Corrected copies: only F and S words change, what feeds can mend is mended, what they cannot is refused."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from millcalc.errors import InputError, ProgramError
from millcalc.rewrite.correct import Corrected, correct
from millcalc.rewrite.feed_words import number_text, number_to_write
from millcalc.rewrite.smooth import ladder, without_peaks
from tests.properties.test_gcode_fuzz import tries
from tests.rewrite.desks import HEAD, TAIL, bare, desk, plate, slot


def corrected(text: str | bytes, **options: object) -> Corrected:
    """Correct and check what holds for every copy: only F and S words differ, and doing it again changes nothing."""
    work = desk(text, plate())
    done = correct(work, **options)  # type: ignore[arg-type]
    assert bare(done.data) == bare(work.data)
    again = correct(desk(done.data, plate()), **options)  # type: ignore[arg-type]
    assert again.data == done.data and not again.changes
    return done


def feeds(data: bytes) -> list[float]:
    return [float(f) for f in re.findall(rb"F(\d+\.?\d*)", data)]


def test_a_program_within_the_limits_is_left_alone() -> None:
    done = corrected(slot())
    assert done.good and done.data == slot().encode() and not done.changes


def test_three_times_the_feed_is_brought_back() -> None:
    done = corrected(slot(feed=1140, ramp=570))
    assert done.good, done.left
    assert {f.code for f in done.before.findings} & {"FEED-03"}
    assert max(feeds(done.data)) < 760  # 0.054 mm x 13 200: the top of the band
    assert all(change.why for change in done.changes)


@pytest.mark.parametrize("feed", [1140, 40])
def test_a_far_too_deep_program_is_refused(feed: float) -> None:
    done = corrected(slot(depth=5.0, feed=feed))
    assert not done.good
    assert {f.code for f in done.left} & {"DEPTH-01"}


def test_a_feed_that_rubs_is_raised() -> None:
    done = corrected(slot(feed=40))
    assert {f.code for f in done.before.findings} & {"FEED-04"}
    assert done.good, done.left
    assert any("smallest chip" in change.why for change in done.changes)
    facts = done.context.facts
    assert (facts.feed_mm_min[facts.cutting & facts.sideways] >= 60).all()


def test_a_screw_in_the_way_is_refused() -> None:
    text = slot().replace("X90", "X112").replace("Y40", "Y72")
    done = corrected(text)
    assert not done.good and {f.code for f in done.left} & {"SCREW-01"}


def test_a_plunge_gets_its_own_feed_and_the_cut_its_own_again() -> None:
    text = HEAD + "G0 X30 Y40\nG0 Z1\nG1 Z-0.3 F380\nX90\nX30\n" + TAIL
    done = corrected(text)
    assert done.good, done.left
    plunge, side = feeds(done.data)
    assert plunge < 240 and side == 380
    assert done.data.splitlines()[8] == b"X90 F380"
    assert [c.old for c in done.changes] == [380.0, None]


def test_words_are_put_in_as_the_line_is_written() -> None:
    text = HEAD + "G0X30Y40\nG0Z1\ng1z-0.3f380\nx90(along)\nX30 ; back\n" + TAIL
    done = corrected(text)
    lines = done.data.splitlines()
    assert lines[8] == b"x90f380(along)"
    assert lines[9] == b"X30 ; back"


def test_a_program_without_any_feed_gets_one() -> None:
    done = corrected(slot().replace(" F70", "").replace(" F190", "").replace(" F380", ""))
    assert {f.code for f in done.before.findings} & {"FEED-01"}
    assert done.good, done.left


@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_bytes_stay(end: str, mark: bytes) -> None:
    text = ("(Wetterhaus, \xe4u\xdferes \x80 S9 F9)\n" + slot(feed=1140)).replace("\n", end)
    data = mark + text.encode("latin-1")
    done = corrected(data)
    assert done.good, done.left
    assert done.data.startswith(mark + text.encode("latin-1")[:25])
    assert done.data.count(end.encode()) == data.count(end.encode())


def test_inches_are_corrected_in_inches() -> None:
    inch = "G20 G90 G17 G94 G54\nT1 M6\nG0 Z0.5\nS13200 M3\nG4 P6\nG0 X1.2 Y1.6\nG0 Z0.04\nG1 Z0 F2.5\n"
    inch += "G1 X2 Z-0.0138 F7\nG1 X1.2\nG1 X3.4 F45\nG1 X1.2\nG0 Z0.5\nM5\nM30\n"
    done = corrected(inch)
    assert done.good, done.left
    assert feeds(done.data)[-1] < 30


def test_feed_per_revolution() -> None:
    text = slot(feed=380).replace("G94", "G95").replace("F70", "F0.005").replace("F190", "F0.0144")
    done = corrected(text.replace("F380", "F0.0864"))
    assert done.good, done.left
    assert feeds(done.data)[2] < 0.0545


def test_inverse_time_is_refused() -> None:
    text = slot().replace("G94", "G93")
    with pytest.raises(ProgramError):
        correct(desk(text, plate()))


def test_parameters_as_feed_are_replaced() -> None:
    text = slot().replace("F380", "F#<side>").replace("T1 M6", "#<side>=1140\nT1 M6")
    done = corrected(text)
    assert done.good, done.left
    assert b"F700" in done.data and b"#<side>=1140" in done.data


def test_a_subprogram_that_is_called_twice() -> None:
    body = "o9 sub\nG1 X50 Z-0.35 F190\nG1 X30\nG1 X90 F1140\nG1 X30\nG0 Z1\no9 endsub\n"
    text = HEAD + body + "G0 X30 Y30\nG0 Z1\nG1 Z0 F70\no9 call\nG0 Y50\nG1 Z0 F70\no9 call\n" + TAIL
    done = corrected(text)
    assert done.good, done.left
    assert b"G1 X90 F700" in done.data and len(done.changes) == 1


def test_block_delete_lines_do_not_matter_to_what_follows() -> None:
    """The line with the slash may be skipped at the machine: the one behind it must say its own feed."""
    text = slot(levels=1).replace("G1 X90 F380\nG1 X30", "/G1 X90 F1140\nG1 X30")
    done = corrected(text)
    assert done.good, done.left
    lines = done.data.decode().splitlines()
    at = next(k for k, line in enumerate(lines) if line.startswith("/"))
    assert "F700" in lines[at] and "F" in lines[at + 1]


@pytest.mark.parametrize(("speed", "most"), [(30000, 24000), (100, 8000)])
def test_speeds_are_brought_into_the_band_with_their_feeds(speed: int, most: int) -> None:
    done = corrected(slot().replace("S13200", f"S{speed}"))
    word = re.search(rb"S(\d+)", done.data)
    assert word is not None and int(word[1]) <= most
    assert any(change.letter == "S" for change in done.changes)


def test_by_engagement_gives_narrow_cuts_more_feed_than_slots() -> None:
    """The second pass runs beside the first with a sixth of the width: its chip is thinner, so it may go faster."""
    text = (
        HEAD
        + "G0 X30 Y40\nG0 Z1\nG1 Z0 F70\nG1 X50 Z-0.35 F190\nG1 X30\nG1 X90 F300\nG1 Y41\nG1 X30\n"
        + TAIL
    )
    done = corrected(text, by_engagement=True)
    assert {f.code for f in done.left} <= {
        "DEPTH-06"
    }  # the corner into the second pass, which feeds cannot mend
    slot_feed, side_feed = feeds(done.data)[2], feeds(done.data)[-1]
    assert side_feed > 1.2 * slot_feed


def test_what_a_job_must_say() -> None:
    with pytest.raises(InputError, match="job"):
        correct(desk(slot()))
    with pytest.raises(InputError, match="no material"):
        correct(desk(slot(), plate(material=None)))
    with pytest.raises(InputError, match="simulated"):
        correct(desk(slot(), plate(zero={"xy": None, "z": "stock top"})))


def test_damaged_programs_are_refused() -> None:
    with pytest.raises(ProgramError):
        correct(desk(slot().replace("G1 X90", "G1 X"), plate()))


@tries(12)
@given(st.lists(st.sampled_from([20, 90, 380, 500, 1200, 5000]), min_size=4, max_size=8), st.booleans())
def test_any_feeds_are_mended_without_flutter(values: list[int], written_apart: bool) -> None:
    """A slot in pieces, each at a feed of its own: all end within the limits, whatever they were."""
    lines = ["G0 X30 Y40", "G0 Z1", "G1 Z0 F70", "G1 X50 Z-0.35 F190", "G1 X30"]
    lines += [f"G1 X{30 + 6 * (k + 1)} F{value}" for k, value in enumerate(values)]
    text = HEAD + "\n".join(lines) + "\n" + TAIL
    done = corrected(text if written_apart else text.replace(" ", ""))
    assert done.good, done.left
    motions = done.context.program.motions
    cut = done.context.facts.cutting & done.context.facts.sideways
    assert (motions.feed_mm_min[cut] <= 720).all() and (motions.feed_mm_min[cut] >= 60).all()


@tries(100)
@given(
    st.lists(st.tuples(st.integers(1, 9), st.integers(1, 60)), min_size=1, max_size=40), st.integers(1, 30)
)
def test_smoothing_only_lowers_and_leaves_no_short_peak(pieces: list[tuple[int, int]], least: int) -> None:
    feed = np.array([100.0 * f for f, _ in pieces])
    length = np.array([float(s) for _, s in pieces])
    run = np.zeros(len(pieces), np.int64)
    out = without_peaks(feed, length, run, float(least))
    assert (out <= feed).all() and set(out) <= set(feed)
    np.testing.assert_array_equal(without_peaks(out, length, run, float(least)), out)
    edges = np.flatnonzero(np.diff(out)) + 1
    parts = np.split(np.arange(len(out)), edges)
    for before, part, after in zip(parts, parts[1:], parts[2:], strict=False):
        if out[part[0]] > out[before[0]] and out[part[0]] > out[after[0]]:
            assert length[part].sum() >= least


@tries(150)
@given(st.floats(1.0, 1e5), st.floats(0, 1), st.sampled_from([1.0, 25.4, 13200.0]))
def test_numbers_are_rounded_down_and_stay_above_the_lowest(high: float, share: float, scale: float) -> None:
    number = number_to_write(high, share * high, scale)
    assert 0 < number * scale <= high * (1 + 1e-9)
    assert number * scale >= share * high * (1 - 1e-4)
    assert "e" not in number_text(number)


@tries(80)
@given(st.floats(0.1, 1e5))
def test_the_ladder_never_raises(feed: float) -> None:
    step = float(ladder(np.array([feed]), 1.12)[0])
    assert feed / 1.1200001 <= step <= feed * (1 + 1e-6)
