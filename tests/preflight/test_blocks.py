"""Findings about one place become one block, and its one remedy satisfies all of them."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.check.build import build_report
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.findings import Severity
from millcalc.preflight import run_rules
from millcalc.preflight.blocks import FOLLOWS, OF_A_CUT, OF_A_FEED, _said
from millcalc.preflight.remedy import Remedy
from millcalc.preflight.run import Outcome
from millcalc.preflight.uses import cut_uses
from tests.preflight.test_slopes import HEAD, SETUP, TAIL, context

PROMPTED = {"DEPTH-01", "FORCE-01", "FORCE-02", "FORCE-03", "FORCE-04", "FORCE-10", *OF_A_FEED}


def slot(depth_mm: float, feed: float, passes: int = 1) -> str:
    lines = []
    for n in range(passes):
        lines += ["G0 X-8 Y40", f"G0 Z{-depth_mm * (n + 1) / passes:.4f}", f"G1 X70 F{feed:g}", "G0 Z15"]
    return "\n".join(lines)


def outcome_of(moves: str):
    outcome = run_rules(context(moves))
    told = [place for block in outcome.blocks for place in block.findings]
    assert sorted(told) == list(range(len(outcome.findings)))
    heads = [min(block.findings) for block in outcome.blocks]
    assert heads == sorted(heads)
    return outcome


def cut_block(outcome):
    (block,) = [block for block in outcome.blocks if block.kind == "cut"]
    return block


def test_eight_findings_about_one_cut_are_one_block_with_one_remedy() -> None:
    """6 mm deep at F1500 in 6061 with a 6 mm one-flute: too deep, too strong, too much power, chip too thick."""
    outcome = outcome_of(slot(6, 1500))
    block = cut_block(outcome)
    codes = [outcome.findings[place].code for place in block.findings]
    assert codes[0] == "DEPTH-01" and {"FORCE-01", "FORCE-03", "FORCE-05", "FEED-03"} <= set(codes)
    assert block.cut is not None and block.cut.passes == 7
    assert block.remedy.startswith("F 540 mm/min, and 7 passes of 0.86 mm instead of one; half the feed over")
    again = outcome_of(slot(6, 540, 7))
    assert not {f.code for f in again.findings} & PROMPTED


def test_a_cut_beside_the_stock_gets_passes_for_its_own_width() -> None:
    """A millimetre off the edge, 12 mm deep: six passes hold; a slot of the whole cutter needs more."""

    def beside(passes: int) -> str:
        each = (f"G0 X-8 Y-2\nG0 Z{-12 * (n + 1) / passes:g}\nG1 X110 F600\nG0 Z15" for n in range(passes))
        return "\n".join(each)

    block = cut_block(outcome_of(beside(1)))
    assert block.remedy == "6 passes of 2 mm instead of one"
    assert not {f.code for f in outcome_of(beside(6)).findings} & PROMPTED


def test_a_higher_feed_is_counted_when_the_passes_are() -> None:
    """2 mm at F200 rubs and is beyond a first cut's reserve: the passes hold at the higher feed, too."""
    outcome = outcome_of(slot(2, 200))
    block = cut_block(outcome)
    assert {outcome.findings[place].code for place in block.findings} >= {"FEED-04", "FORCE-10"}
    assert block.cut is not None and block.cut.feed_mm_min == pytest.approx(440)
    again = outcome_of(slot(2, 440, block.cut.passes))
    assert not {f.code for f in again.findings} & PROMPTED


def inch_slot(feed_in_min: float, passes: int = 1) -> Outcome:
    """Two millimetres deep, in a program in inches."""
    text = HEAD.replace("G21", "G20") + slot(2, 1, passes) + TAIL
    text = re.sub(r"([XYZ])(-?[\d.]+)", lambda word: f"{word[1]}{float(word[2]) / 25.4:.5f}", text)
    text = text.replace("F1", f"F{feed_in_min:g}")
    return run_rules(make_context(text.encode(), "slot.nc", SETUP, CheckOptions(cell_mm=0.2)))


def test_the_feed_of_a_remedy_in_inches_is_that_of_its_finding_and_does_not_rub() -> None:
    """0.024 mm at 18000 rev/min is 432 mm/min: 17 in/min would be 431.8, so both say 17.5."""
    outcome = inch_slot(7)
    block = cut_block(outcome)
    (thin,) = [outcome.findings[p] for p in block.findings if outcome.findings[p].code == "FEED-04"]
    assert block.remedy.startswith("F 17.5 in/min, and 3 passes of 0.026 in instead of one")
    assert thin.action.startswith("F 17.5 in/min gives 0.0009 in a tooth")
    again = inch_slot(17.5, 3)
    assert not {f.code for f in again.findings} & PROMPTED


@settings(max_examples=12, deadline=None, database=None)
@given(st.floats(0.3, 7.0), st.integers(15, 250))
def test_whoever_obeys_a_block_once_is_done(depth_mm: float, tens: int) -> None:
    feed = tens * 10.0
    outcome = outcome_of(slot(depth_mm, feed))
    for block in outcome.blocks:
        if block.cut is None:
            continue
        codes = {outcome.findings[place].code for place in block.findings} - {
            "FORCE-05",
            "DEPTH-05",
            "DEPTH-07",
        }
        assert block.cut.passes is not None
        new = block.cut.feed_mm_min or feed
        new = math.floor(new / 10) * 10 if new < feed else new
        again = outcome_of(slot(depth_mm, new, block.cut.passes))
        assert not {f.code for f in again.findings} & codes


@pytest.mark.parametrize("feed", [300, 500])
def test_a_feed_that_another_cut_needs_is_not_joined(feed: int) -> None:
    """A slot 6 mm deep at F500 or F300, and beside it one 4 mm deep that rubs at F200: two places, two remedies."""
    slow = slot(4, 200).replace("Y40", "Y20")
    outcome = outcome_of(slot(6, feed) + "\n" + slow)
    block = cut_block(outcome)
    assert "FEED-04" not in {outcome.findings[place].code for place in block.findings}
    assert block.cut is not None and block.cut.feed_mm_min is None
    assert any(outcome.findings[b.findings[0]].code == "FEED-04" for b in outcome.blocks)


def test_screws_that_are_hit_are_one_block() -> None:
    """Along Y60 and up to Y74 over the heads of screws 1, 3 and 4."""
    outcome = outcome_of("G0 X-8 Y40\nG0 Z-0.5\nG1 X70 F600\nG0 X6 Y60\nG0 X114\nG0 Y74")
    (block,) = [block for block in outcome.blocks if block.kind == "screws"]
    hit = [outcome.findings[place].fact for place in block.findings]
    assert len(hit) == 3 and all("the cutter hits screw" in fact for fact in hit)
    assert all(f"move screw {n} " in block.remedy for n in (1, 3, 4))


def test_what_follows_from_a_wrong_zero_folds_beneath_it() -> None:
    """The same slot with the stock on the other side of zero: the corner is the cause, not depth or force."""
    outcome = outcome_of("G0 X-62.5 Y-20\nG0 Z-6\nG1 X50 F1500")
    block = outcome.blocks[0]
    codes = [outcome.findings[place].code for place in block.findings]
    assert block.kind == "cause" and codes[0] in FOLLOWS and len(codes) > 1
    assert block.remedy == outcome.findings[block.findings[0]].action
    assert all(outcome.findings[place].severity > Severity.NOTE for place in block.findings)
    assert any(f.severity is Severity.NOTE and f.code == "TRAVEL-06" for f in outcome.findings)
    assert not [b for b in outcome.blocks if b.kind == "cut"]


def test_the_report_carries_the_blocks() -> None:
    ctx = context(slot(6, 1500))
    outcome = run_rules(ctx)
    report = build_report(ctx, outcome)
    assert [b.findings for b in report.blocks] == [b.findings for b in outcome.blocks]
    (cut,) = [b for b in report.blocks if b.kind == "cut"]
    assert (cut.passes, cut.depth_mm, cut.feed_mm_min) == (7, pytest.approx(6 / 7), pytest.approx(540))
    assert all(report.findings[place].code in (*OF_A_CUT, *OF_A_FEED) for place in cut.findings)


@pytest.mark.parametrize(
    ("found", "told"),
    [
        (Remedy(1, 1.0, 540.0), "F 540 mm/min"),
        (Remedy(2, 0.5, 540.0), "F 540 mm/min, and 2 passes of 0.5 mm instead of one"),
        (Remedy(2, 0.5, None), "2 passes of 0.5 mm instead of one"),
        (
            Remedy(None, 0.0, None),
            "no depth worth cutting remains; another cutter, less stickout or a wider slot is needed",
        ),
    ],
)
def test_the_remedy_of_a_cut_in_words(found: Remedy, told: str) -> None:
    ctx = context(slot(1, 540))
    ((cut,), _) = cut_uses(ctx)
    assert _said(ctx, cut, found) == told
