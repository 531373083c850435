"""Work in a second thread gives what it gives in the first, and fails where it is fetched."""

from __future__ import annotations

import dataclasses
import threading
from pathlib import Path

import numpy as np
import pytest

from millcalc import beside
from millcalc.check.run import look_at
from millcalc.report.check_json import check_json
from millcalc.tables import demo_root


@pytest.mark.parametrize("count", [1, 2])
def test_work_is_given_or_fails_where_it_is_fetched(count: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "processors", lambda: count)
    assert beside.Beside(lambda: threading.current_thread() is threading.main_thread()).fetch() is (
        count == 1
    )
    failing = beside.Beside(lambda: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        failing.fetch()


JOBS = [
    (job, program)
    for job in sorted(demo_root().glob("*/job.yaml"))
    for program in sorted(job.parent.glob("*.nc"))
]


@pytest.mark.parametrize(("job", "program"), JOBS, ids=[f"{job.parent.name}-{p.stem}" for job, p in JOBS])
def test_a_check_is_the_same_to_the_last_bit_with_one_thread_and_two(
    job: Path, program: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = []
    for count in (1, 2):
        monkeypatch.setattr(beside, "processors", lambda count=count: count)
        looked = look_at(program, job)
        assert looked.ctx.removal is not None
        found.append((looked.ctx.removal, check_json(looked.report)))
    (one, said), (two, said_too) = found
    assert said == said_too
    for field in dataclasses.fields(one):
        mine, theirs = getattr(one, field.name), getattr(two, field.name)
        if isinstance(mine, np.ndarray):
            assert mine.dtype == theirs.dtype and mine.tobytes() == theirs.tobytes(), field.name
        elif field.name == "final":
            assert mine.height_mm.tobytes() == theirs.height_mm.tobytes()
        else:
            assert mine == theirs, field.name
