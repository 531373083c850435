"""Advices of the page: computed once for all who ask, beside each other where there are two processes, never stale."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Iterator
from typing import Any

import pytest

from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Margins, Tooling
from millcalc.page import desk as desk_module
from millcalc.page import tuning
from millcalc.page.desk import Desk, compute
from millcalc.tables import load_cutter, load_machine, load_material

DRILL = CutRequest("plunge")  # the quickest to compute


def tooling(**more: Any) -> Tooling:
    made = make_tooling(
        load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter("flat-6mm-1f"), **more
    )
    return made


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Every question that is computed in this process."""
    asked: list[Any] = []

    def count(question: Any) -> Any:
        asked.append(question)
        return compute(question)

    monkeypatch.setattr(desk_module, "compute", count)
    return asked


def test_the_same_question_is_computed_once_and_another_margin_is_another_question(
    counted: list[Any],
) -> None:
    desk = Desk()
    first = desk.advice(tooling(), DRILL, "mm")
    assert desk.advice(tooling(), DRILL, "mm") is first and len(counted) == 1
    learnt = tooling().with_changes(margins=Margins(thrust=0.5))
    assert desk.advice(learnt, DRILL, "mm") is not first and len(counted) == 2
    assert desk.advice(tooling(stickout_mm=30.0), DRILL, "mm") is not first
    assert desk.advice(tooling(), DRILL, "in") is not first and len(counted) == 4


def test_those_who_ask_at_once_share_one_computation(monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go_on, asked = threading.Event(), threading.Event(), []

    def slow(question: Any) -> Any:
        asked.append(question)
        begun.set()
        go_on.wait(20)
        return compute(question)

    monkeypatch.setattr(desk_module, "compute", slow)
    desk, found = Desk(), []
    threads = [
        threading.Thread(target=lambda: found.append(desk.advice(tooling(), DRILL, "mm"))) for _ in range(5)
    ]
    for thread in threads:
        thread.start()
    assert begun.wait(20)
    go_on.set()
    for thread in threads:
        thread.join(20)
    assert len(asked) == 1 and len(found) == 5 and len({id(one) for one in found}) == 1


def test_what_cannot_be_is_told_each_time_and_the_oldest_is_forgotten(
    counted: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = Desk()
    for _ in range(2):
        with pytest.raises(Exception, match="at least the length of the flutes"):
            desk.advice(tooling(stickout_mm=5.0), DRILL, "mm")
    assert len(counted) == 2
    monkeypatch.setattr(tuning, "MOST_REMEMBERED", 1)
    for stickout in (30.0, 31.0, 30.0):
        desk.advice(tooling(stickout_mm=stickout), DRILL, "mm")
    assert len(counted) == 5


@pytest.fixture
def beside() -> Iterator[Desk]:
    made = Desk(beside=True)
    yield made
    made.close()


def test_the_next_question_is_answered_beside_one_that_runs_and_here_when_that_process_is_gone(
    beside: Desk, counted: list[Any]
) -> None:
    with beside._here:  # an advice is being computed here
        answer = beside.advice(tooling(), DRILL, "mm")
    assert counted == [] and answer == compute((tooling(), DRILL, "mm", (), False))
    cut = tooling(stickout_mm=30.0)
    full = beside.full(beside.advice(cut, DRILL, "mm"), "mm", ())
    assert len(counted) == 1 and full == compute((cut, DRILL, "mm", (), True))
    beside._pipe.close()
    with beside._here:
        assert beside.advice(tooling(stickout_mm=31.0), DRILL, "mm").fits is not None
    assert len(counted) == 2


def test_the_first_answer_waits_for_no_module() -> None:
    """In a process of its own: what an answer shows is loaded before it is asked for."""
    script = (
        "import sys\nfrom pathlib import Path\nfrom millcalc.page import app, settings\n"
        "from millcalc.page.cut_form import asked\nfrom millcalc.page.desk import compute, load\nload()\n"
        "before = set(sys.modules)\n"
        "fields = {'machine': 'gantry-800w', 'material': 'al-6082-t6', 'cutter': 'flat-6mm-1f', 'cut': 'side'}\n"
        "cut = asked(fields, 'mm')\n"
        "advice = compute((cut.tooling, cut.request, 'mm', (), False))\n"
        "settings._shown(one := settings.Kept(advice, fields, None, 'mm'))\nsettings.beside(one)\n"
        "print(sorted(n for n in set(sys.modules) - before if n.startswith(('millcalc', 'scipy', 'jinja'))))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]", done.stdout
