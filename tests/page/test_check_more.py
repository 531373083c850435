"""Several programs at once, two versions compared, and a check in forms for other programs."""

from __future__ import annotations

import csv
import json
from io import StringIO
from typing import Any

import pytest

from millcalc.job import load_job
from millcalc.page.place import JobFolder, Place
from tests.helpers.looking import JOB, SLOTS
from tests.page.doors import Visitor, told


@pytest.fixture
def folder(me: Visitor) -> JobFolder:
    made: JobFolder = Place(me.door.folder).new("slots.nc", SLOTS.encode())
    made.job.write_text(JOB, encoding="utf-8")
    return made


def files(*given: tuple[str, str], field: str = "program") -> list[tuple[str, tuple[str, bytes, str]]]:
    return [(field, (name, text.encode(), "text/plain")) for name, text in given]


def finished(me: Visitor, folder: JobFolder) -> Any:
    task = me.door.bench.of(folder.name)
    assert task is not None and task.over.wait(120) and task.state == "done", task
    return task


def test_several_programs_get_the_job_among_them_and_are_checked_one_after_the_other(me: Visitor) -> None:
    sent = files(("one.nc", SLOTS), ("two.nc", SLOTS + "( end )\n"), ("mine.yaml", JOB))
    answer = me.post("/check/new", files=sent)
    assert answer.url.path == "/check" and "1 before yours" in told(answer) and "data-live" in answer.text
    made = Place(me.door.folder).all()
    assert len(made) == 2
    for one in made:
        program = one.program
        assert program is not None and load_job(one.job).program == program.name
        finished(me, one)
    page = me.get("/check")
    assert "data-live" not in page.text and told(page).count("No problem found in what was checked") in (0, 2)
    verdict = (made[0].path / "result" / "verdict").read_text(encoding="utf-8")
    assert told(page).count(verdict) == 2, "what came of each stands in the list"
    me.door.bench.close()


@pytest.mark.parametrize(
    ("sent", "reads"),
    [
        ([("one.nc", SLOTS), ("empty.nc", "")], "empty.nc: an empty file"),
        ([("one.nc", SLOTS), ("a.yaml", JOB), ("b.yaml", JOB)], "2 job files"),
        ([("one.nc", SLOTS), ("a.yaml", "material: [")], "a.yaml"),
        ([("a.yaml", JOB)], "a g-code program"),
    ],
)
def test_what_cannot_be_taken_leaves_nothing(me: Visitor, sent: list[tuple[str, str]], reads: str) -> None:
    answer = me.post("/check/new", files=files(*sent))
    assert answer.status_code == 422 and reads in told(answer).lower().replace("found ", ""), told(answer)
    assert not me.door.folder.exists()


def test_two_versions_are_compared_motion_by_motion(me: Visitor, folder: JobFolder) -> None:
    other = SLOTS.replace("F", "F1", 1)
    me.post(f"/job/{folder.name}/run/compare", files=files(("../new <b>.nc", other), field="other"))
    task = finished(me, folder)
    assert task.facts == {"same": False}
    assert "Compared with another version" in told(me.get(f"/job/{folder.name}"))
    assert f'src="/job/{folder.name}/compared"' in me.get(f"/job/{folder.name}/shown/compared").text
    assert me.get(f"/job/{folder.name}/shown/report").status_code == 404
    answer = me.get(f"/job/{folder.name}/compared")
    assert "They differ" in told(answer) and "A: slots.nc and B: new-b.nc" in told(answer)
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert folder.program == folder.path / "slots.nc", "the other version is not the job's program"
    empty = me.post(f"/job/{folder.name}/run/compare", files=files(("x.nc", ""), field="other"))
    assert empty.status_code == 422 and "choose it first" in told(empty)


def test_a_check_is_taken_in_every_form_and_only_while_it_is_of_the_job_as_it_is(
    me: Visitor, folder: JobFolder
) -> None:
    """What a stranger wrote into program and job is shown, never obeyed."""
    address, hostile = f"/job/{folder.name}", "<img src=x onerror=alert(1)>"
    (folder.path / "slots.nc").write_text(f"({hostile})\n{SLOTS}", encoding="utf-8")
    folder.job.write_text(
        f"notes: '</script>{hostile}'\n" + JOB.replace("mast bracket", hostile), encoding="utf-8"
    )
    assert me.get(f"{address}/file/sarif").status_code == 404
    for kind in ("check", "table"):
        me.post(f"{address}/run/{kind}")
        finished(me, folder)
    for part in ("", "/edit", "/report", "/sheet"):
        assert "<img src=x" not in me.get(address + part).text, part
    found = {key: me.get(f"{address}/file/{key}") for key in ("findings", "sarif", "motions")}
    assert {one.status_code for one in found.values()} == {200}
    codes = {one["code"] for one in json.loads(found["findings"].text)["findings"]}
    results = json.loads(found["sarif"].text)["runs"][0]["results"]
    assert codes and codes <= {one["ruleId"] for one in results}
    rows = list(csv.DictReader(StringIO(found["motions"].text)))
    assert (
        rows[0]["motion"]
        and 'filename="slots-motions.csv"' in found["motions"].headers["content-disposition"]
    )
    folder.job.write_text(JOB + "# changed\n", encoding="utf-8")
    assert {me.get(f"{address}/file/{key}").status_code for key in found} == {404}
    me.door.bench.close()
