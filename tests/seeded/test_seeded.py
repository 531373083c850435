"""Faults are found: a quick sample of the table that `python -m tests.seeded` prints in full."""

from __future__ import annotations

import pytest

from tests.seeded.kinds import KINDS
from tests.seeded.table import bases, lines_of, table

AT_THEIR_LINE_WITH_A_JOB = 0.95  # of the sample; the full table is held to 98 % by eye
KINDS_ALONE = 0.90


def test_enough_kinds_and_programs():
    assert len(KINDS) >= 40 and len({kind.name for kind in KINDS}) == len(KINDS)
    assert sum(base.name.startswith("demo/") for base in bases()) == 4 and len(bases()) > 60


def test_faults_are_named_without_a_job():
    rows = table(with_job=False, most=2)
    named = [row.at_line == row.tried for row in rows]
    assert sum(named) / len(named) >= KINDS_ALONE, "\n".join(lines_of(rows, why=True))


def test_faults_are_named_with_a_job():
    rows = table(with_job=True, most=1, every=3)
    tried, named = sum(row.tried for row in rows), sum(row.at_line for row in rows)
    assert named / tried >= AT_THEIR_LINE_WITH_A_JOB, "\n".join(lines_of(rows, why=True))


@pytest.mark.parametrize("most", [1])
def test_a_check_that_says_nothing_fails_the_table(monkeypatch, most):
    import tests.seeded.table as module

    monkeypatch.setattr(module, "findings", lambda lines, job: ())
    module.untouched.cache_clear()
    assert all(row.at_line == 0 for row in module.table(with_job=False, most=most))
    module.untouched.cache_clear()
