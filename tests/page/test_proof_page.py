"""A proof strip on the page: written from an advice, its result logged and told, as the command line does it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from millcalc.cutlog.store import Log
from millcalc.page.place import JobFolder, Place
from tests.helpers.command import run
from tests.page.doors import Visitor, told

CUT = {"machine": "gantry-800w", "material": "al-6082-t6", "cutter": "flat-6mm-1f", "cut": "slot"}
WORDS = ["--machine", "gantry-800w", "--material", "al-6082-t6", "--cutter", "flat-6mm-1f"]

WRONG: tuple[tuple[dict[str, str], str], ...] = (
    ({}, "no step"),
    ({"best": "99"}, "step 99"),
    ({"best": "x"}, "number of a step"),
    ({"best": "2", "symptoms": "chatter"}, "first step that failed"),
)


def asked(me: Visitor, scrap: str = "6 mm", **more: str) -> Any:
    found = re.search(r'data-advice="([^"]+)"', me.post("/settings/answer", CUT).text)
    assert found
    return me.post(f"/settings/proof/{found[1]}", {"scrap": scrap, **more})


def finished(me: Visitor, answer: Any) -> JobFolder:
    folder: JobFolder = Place(me.door.folder).get(answer.url.path.rsplit("/", 1)[1])
    task = me.door.bench.of(folder.name)
    assert task is not None and task.over.wait(120), task
    return folder


def test_a_strip_is_the_command_lines_and_its_result_is_logged_once(me: Visitor, tmp_path: Path) -> None:
    folder = finished(me, asked(me))
    run(["proof", "-o", "own.nc", *WORDS], tmp_path)
    program = folder.path / "proof.nc"
    mine, other = ((one.read_text(encoding="utf-8")).splitlines() for one in (program, tmp_path / "own.nc"))
    assert [line for line in mine if line.startswith("G")] == [line for line in other if line.startswith("G")]
    assert folder.program == program and folder.job.is_file()
    page = told(me.get(f"/job/{folder.name}"))
    assert "Proof strip for scrap" in page and "Step that went best" in page
    for wrong, reads in WRONG:
        answer = me.post(f"/job/{folder.name}/proof", wrong)
        assert answer.status_code == 422 and reads in told(answer), told(answer)
    assert not (tmp_path / "cuts.db").exists(), "a result that cannot be logs nothing"
    sent = {"best": "2", "failed": "4", "symptoms": "chatter"}
    answer = me.post(f"/job/{folder.name}/proof", sent)
    assert answer.url.path.endswith("/shown/proven")
    drawn = told(me.get(f"/job/{folder.name}/proven"))
    assert "Logged as entry 1 and 2" in drawn and "depth a pass" in drawn
    with Log(tmp_path / "cuts.db", readonly=True) as opened:
        entries = [one.entry for one in opened.find()]
    assert sorted(one.outcome for one in entries) == ["failed", "good"]
    assert [one.symptoms for one in entries if one.outcome == "failed"] == [("chatter",)]
    me.post(f"/job/{folder.name}/proof", sent)
    assert "in the log already" in told(me.get(f"/job/{folder.name}/proven"))


def test_scrap_that_cannot_be_leaves_no_job(me: Visitor) -> None:
    for scrap, reads in (
        ("", "no thickness"),
        ("5000", "at most 1000 mm"),
        ("thick", "thickness of the scrap"),
    ):
        answer = asked(me, scrap)
        assert answer.status_code == 422 and reads in told(answer).lower(), told(answer)
    assert asked(me, ladder="up").status_code == 422
    assert not me.door.folder.exists() or Place(me.door.folder).all() == []
    folder = finished(me, asked(me, "0.3 mm"))
    assert "accepted: more than" in told(me.get(f"/job/{folder.name}"))
    assert Place(me.door.folder).all() == [], "what was not written is no job"
