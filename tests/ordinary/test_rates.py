"""Ordinary programs are left alone: how often each rule may speak about a program without a fault."""

from __future__ import annotations

import statistics
from collections import Counter

import pytest

from millcalc.findings import Severity
from tests.ordinary.programs import STYLES, ordinary
from tests.ordinary.table import STOP_RATE, WARNING_RATE, rates


@pytest.fixture(scope="module", params=[False, True], ids=["without-job", "with-job"])
def found(request):
    return rates(request.param)


def test_the_set_is_large_and_covers_every_style():
    names = [program.name for program in ordinary()]
    assert len(names) >= 60 and len(set(names)) == len(names)
    assert min(Counter(name.split("/")[0] for name in names if "hand" not in name).values()) >= 5
    assert {style.unit for style in STYLES.values()} == {"mm", "in"}
    assert {style.arcs for style in STYLES.values()} == {"distance", "coordinate", "radius"}


def test_no_rule_speaks_about_more_than_its_share(found):
    limit = {Severity.STOP: STOP_RATE, Severity.WARNING: WARNING_RATE}
    over = {key: share for key, share in found.share.items() if share > limit.get(key[1], 1.0)}
    assert not over


def test_the_usual_program_gets_neither_stop_nor_warning(found):
    assert statistics.median(found.stops) == 0 and statistics.median(found.warnings) == 0
    assert sum(n > 0 for n in found.stops) <= found.programs / 100


def test_one_cause_is_said_at_most_five_times(found):
    assert max(found.repeats.values()) <= 5
