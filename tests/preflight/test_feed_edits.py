"""A new feed stands where it is meant: the line that is marked, and the feed that is restored after it."""

from __future__ import annotations

import re

import pytest

from millcalc.preflight import run_rules
from tests.preflight.test_slopes import context

# a slot 1 mm deep at F600, a cleaning pass 0.5 mm wide at the same modal feed, and a second slot
SLOT = "G0 X-8 Y40\nG0 Z-1\nG1 X70 F600\nG0 Z15\n"
CLEAN = "G0 X-8 Y40.5\nG0 Z-1\nG1 X60\nG0 Z15\n"
AGAIN = "G0 X-8 Y20\nG0 Z-1\nG1 X70\n"


def told(moves: str, code: str):
    return [f for f in run_rules(context(moves)).findings if f.code == code]


def test_the_cleaning_pass_is_marked_and_the_slot_gets_its_feed_back() -> None:
    """Head of five lines: the slot's F stands in line 8, the cleaning pass in line 12, the next slot in line 16."""
    (thin,) = told(SLOT + CLEAN + AGAIN, "FEED-04")
    feed = re.match(r"F (\d+) mm/min", thin.action)
    assert feed is not None and int(feed[1]) > 600
    assert "in line 12 (and F 600 mm/min again in line 16)" in thin.action
    assert thin.spans[0].line == 12 and 8 not in {span.line for span in thin.spans}
    mended = SLOT + CLEAN.replace("G1 X60", f"G1 X60 F{feed[1]}") + AGAIN.replace("G1 X70", "G1 X70 F600")
    assert not told(mended, "FEED-04")
    slots = {f.motion for f in told(mended, "FORCE-10")}
    assert slots == {f.motion for f in told(SLOT + CLEAN + AGAIN, "FORCE-10")}


def test_a_word_that_serves_only_the_thin_cuts_is_changed_where_it_stands() -> None:
    (thin,) = told(SLOT + CLEAN.replace("G1 X60", "G1 X60 F200"), "FEED-04")
    assert thin.spans[0].line == 12 and thin.spans[0].start > 0 and "in line" not in thin.action


def test_passages_like_it_are_counted() -> None:
    more = SLOT + CLEAN + AGAIN + "G0 Z15\n" + CLEAN.replace("Y40.5", "Y20.5") + AGAIN.replace("Y20", "Y60")
    (thin,) = told(more, "FEED-04")
    assert "and at 1 more place like it" in thin.action


# a pocket's outline, then a pass 0.4 mm outside it: each corner of the second is met at full engagement
ROUGH = "G0 X20 Y30\nG0 Z1\nG1 Z-0.5 F60\nG1 X60 F{0}\nG1 Y60\nG1 X20\nG1 Y30\n"
OUTSIDE = "G1 X19.6 Y29.6 F{0}\nG1 X60.4 F{1}\nG1 Y60.4\nG1 X19.6\nG1 Y29.6\n"


def test_advice_for_a_corner_does_not_follow_the_programmed_feed_down() -> None:
    first = told((ROUGH + OUTSIDE).format(900, 900), "DEPTH-06")
    assert first and "round the inside corner" in first[0].action
    feed = re.search(r"go through it at F (\d+) mm/min, and write F 900 mm/min again", first[0].action)
    assert feed is not None
    slowed = (ROUGH + OUTSIDE).format(900, feed[1])
    assert not told(slowed, "DEPTH-06")
    halved = told((ROUGH + OUTSIDE).format(900, 450), "DEPTH-06")
    assert f"at F {feed[1]} mm/min" in halved[0].action


def test_no_corner_feed_is_named_at_which_the_chip_would_be_too_thin() -> None:
    slow = told((ROUGH + OUTSIDE).format(200, 200), "DEPTH-06")
    assert slow and "go through it at" not in slow[0].action


@pytest.mark.parametrize("feed", [500, 540])
def test_a_thick_chip_in_one_passage_is_marked_there(feed: int) -> None:
    """Full width after a narrow pass at F1200 that narrow passes bear: the slot after it needs its own word."""
    fast = CLEAN.replace("G1 X60", "G1 X60 F1200") + AGAIN
    (thick,) = told(SLOT.replace("F600", f"F{feed}") + fast, "FEED-03")
    assert thick.spans[0].line == 16 and "in line 16" in thick.action
