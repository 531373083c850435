"""The flow of a check: programs taken, jobs made by a form, the bench, what came of it, and what a stranger may not."""

from __future__ import annotations

import html
import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from millcalc.job import load_job
from millcalc.page import tuning
from millcalc.page.bench import Bench, Task
from millcalc.page.job_fields import fields_of_job, job_of_fields
from millcalc.page.place import JobFolder, Place, save_job
from millcalc.tables import demo_root
from tests.helpers.looking import JOB, SLOTS
from tests.page.doors import BASE, Visitor, make_door


@pytest.fixture
def me(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Visitor:
    for name, value in {"XDG_CONFIG_HOME": "none", "MILLCALC_LOG": "cuts.db"}.items():
        monkeypatch.setenv(name, str(tmp_path / value))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("millcalc.page.check.FACTS_SECONDS", 0.0)
    return Visitor(make_door(tmp_path))


@pytest.fixture
def folder(me: Visitor) -> JobFolder:
    """The mast bracket with its job."""
    made: JobFolder = Place(me.door.folder).new("slots.nc", SLOTS.encode())
    made.job.write_text(JOB, encoding="utf-8")
    return made


def told(answer: Any) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.text)))


def form_of(answer: Any) -> dict[str, str]:
    """The fields of the form of a job as a browser would send them."""
    found: dict[str, str] = {}
    body = answer.text.split('id="job"', 1)[1].split("<template", 1)[0]
    for tag in re.findall(r"<input [^>]+>", body):
        at = dict(re.findall(r'([a-z_-]+)="([^"]*)"', tag))
        if at.get("type") in ("radio", "checkbox") and " checked" not in tag:
            continue
        if "name" in at:
            found[at["name"]] = html.unescape(at.get("value", ""))
    for name, options in re.findall(r'<select [^>]*name="([^"]+)"[^>]*>(.*?)</select>', body, re.S):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', options)
        found[name] = html.unescape((chosen[1] if chosen[1] is not None else chosen[2]) if chosen else "")
    notes = re.search(r"<textarea[^>]*>(.*?)</textarea>", body, re.S)
    found["notes"] = html.unescape(notes[1]) if notes else ""
    return found


def test_a_program_is_taken_under_a_harmless_name_and_the_form_opens(me: Visitor) -> None:
    bytes_in = SLOTS.encode()
    files = {"program": ("../../..\\evil <b>plate.NC", bytes_in, "text/plain")}
    answer = me.post("/check/new", files=files)
    assert answer.status_code == 200 and answer.url.path.endswith("/edit")
    made = list(me.door.folder.iterdir())
    assert len(made) == 1 and re.fullmatch(r"evil-b-plate-[0-9a-f]{6}", made[0].name)
    assert (made[0] / "evil-b-plate.nc").read_bytes() == bytes_in
    assert "<b>plate" not in answer.text


@pytest.mark.parametrize(
    ("files", "reads"), [({"program": ("x.nc", b"", "text/plain")}, "an empty file"), (None, "no file")]
)
def test_nothing_and_an_empty_file_are_told(me: Visitor, files: Any, reads: str) -> None:
    answer = me.post("/check/new", files=files)
    assert answer.status_code == 422 and reads in told(answer).lower()
    assert not me.door.folder.exists()


def test_an_upload_too_large_leaves_nothing(me: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tuning, "MOST_UPLOAD_BYTES", 300_000)
    answer = me.post("/check/new", files={"program": ("x.nc", b"G1 X1\n" * 100_000, "text/plain")})
    assert answer.status_code == 413 and "at most 0.3 MB" in answer.text and not me.door.folder.exists()


def test_what_goes_into_the_form_comes_out_of_it(me: Visitor, folder: JobFolder) -> None:
    """A job saved without a change is the same job, for the demo jobs too; screws stay where they are."""
    for path in (folder.job, *demo_root().glob("*/job.yaml")):
        job = load_job(path)
        for units in ("mm", "in"):
            fields = fields_of_job(job, [1], units)  # type: ignore[arg-type]
            back = job_of_fields(fields, job, units, job.program or "")  # type: ignore[arg-type]
            same = {
                "units": job.units,
                "screws": None,
                "stock": None,
                "bed": None,
                "clamps": None,
                "cutters": None,
            }
            assert back.model_copy(update=same) == job.model_copy(update=same)
            for one, other in zip(back.screws or (), job.screws or (), strict=True):
                assert (one.x_mm, one.y_mm) == pytest.approx((other.x_mm, other.y_mm), abs=0.002)
                assert one.size == other.size and one.placed == other.placed


def test_a_screw_tapped_on_the_plate_lies_there_from_program_zero(me: Visitor, folder: JobFolder) -> None:
    sent = form_of(me.get(f"/job/{folder.name}/edit"))
    sent |= {
        "zero_xy": "centre",
        "screw-2-x": "30",
        "screw-2-y": "35",
        "screw-2-size": "M4 pan",
        "thickness": "1/4 in",
    }
    answer = me.post(f"/job/{folder.name}/edit", {**sent, "after": ""})
    assert answer.status_code == 200, told(answer)
    job = load_job(folder.job)
    assert job.zero.xy == "centre" and job.stock.thickness_mm == pytest.approx(6.35)
    assert job.screws is not None and (job.screws[2].x_mm, job.screws[2].y_mm) == (0.0, 15.0)
    assert (job.screws[0].x_mm, job.screws[0].y_mm) == (-25.0, -15.0), "the old ones stay on the plate"
    assert job.bed.drop_mm == 80 and job.program == "slots.nc"
    assert (folder.path / "job.before.yaml").read_text(encoding="utf-8") == JOB


@pytest.mark.parametrize(
    ("change", "reads"),
    [
        ({"size_x": "wide"}, "width of the plate"),
        ({"thickness": "0"}, "thickness"),
        ({"material": "unobtainium"}, "material"),
        ({"screw-0-x": ""}, "screw 1"),
        ({"tool-0-stickout": "-3"}, "stickout"),
        ({"size_x": "", "size_y": ""}, "unknown size"),
        ({"hold": "vacuum", "hold-vacuum-pressure_n_mm2": "500 kPa"}, "101 kPa"),
    ],
)
def test_what_cannot_be_is_named_and_what_was_typed_stays(
    me: Visitor, folder: JobFolder, change: dict[str, str], reads: str
) -> None:
    before = folder.job.read_bytes()
    sent = {**form_of(me.get(f"/job/{folder.name}/edit")), "title": 'mine "<i>', **change}
    answer = me.post(f"/job/{folder.name}/edit", {**sent, "after": "check"})
    assert answer.status_code == 422 and reads in told(answer), told(answer)[:600]
    assert 'value="mine &#34;&lt;i&gt;"' in answer.text
    assert folder.job.read_bytes() == before and me.door.bench.of(folder.name) is None


def test_a_job_edited_twice_says_so_and_nothing_is_lost(me: Visitor, folder: JobFolder) -> None:
    phone = Visitor(me.door)
    mine, other = (form_of(one.get(f"/job/{folder.name}/edit")) for one in (me, phone))
    assert phone.post(f"/job/{folder.name}/edit", {**other, "notes": "from the phone"}).status_code == 200
    answer = me.post(f"/job/{folder.name}/edit", {**mine, "notes": "from the laptop"})
    assert answer.status_code == 409 and "changed elsewhere meanwhile" in told(answer)
    assert load_job(folder.job).notes == "from the phone"
    again = form_of(answer)
    assert again["notes"] == "from the laptop"
    assert me.post(f"/job/{folder.name}/edit", again).status_code == 200
    assert load_job(folder.job).notes == "from the laptop"
    assert load_job(folder.path / "job.before.yaml").notes == "from the phone"


def test_killed_in_the_middle_of_a_save_the_job_is_the_old_one_whole(folder: JobFolder) -> None:
    """The process dies after the new text is written and before it takes the job's name."""
    before = folder.job.read_bytes()
    script = (
        "import os, sys\nfrom pathlib import Path\nfrom millcalc.page.place import JobFolder, save_job\n"
        "folder = JobFolder('x', Path(sys.argv[1]))\nstamp = folder.stamp()\n"
        "count = [0]\nreal = os.fsync\n"
        "def dies(handle):\n    count[0] += 1\n    real(handle)\n"
        "    if count[0] == int(sys.argv[2]):\n        os._exit(9)\n"
        "os.fsync = dies\nsave_job(folder, 'title: new\\n', stamp)\n"
    )
    for at in ("1", "3"):  # while the copy of the old one, and while the new one, is being written
        done = subprocess.run([sys.executable, "-c", script, str(folder.path), at], check=False)
        assert done.returncode == 9 and folder.job.read_bytes() == before
    assert folder.program == folder.path / "slots.nc", "what is left behind is no program"
    save_job(folder, "title: new\n", folder.stamp())
    assert load_job(folder.job).title == "new"


def test_a_check_is_the_command_lines_and_a_finding_is_quieted_with_its_reason(
    me: Visitor, folder: JobFolder
) -> None:
    from millcalc.check.run import look_at

    assert me.post(f"/job/{folder.name}/run/check").status_code == 200
    task = me.door.bench.of(folder.name)
    assert task is not None and task.over.wait(120) and task.state == "done", task.lines
    page = told(me.get(f"/job/{folder.name}"))
    report = look_at(folder.path / "slots.nc", folder.job).report
    assert report.verdict()[1:] in page and report.findings
    for finding in report.findings:
        assert finding.code in page
    for path in ("report", "sheet"):
        answer = me.get(f"/job/{folder.name}/{path}")
        policy = answer.headers["content-security-policy"]
        assert (
            "default-src 'none'" in policy and "frame-ancestors 'self'" in policy and "unsafe" not in policy
        )
    form = told(me.get(f"/log/new?job={folder.name}&tool=1"))
    assert "slots.nc, T1" in form and "How did it go?" in form
    sent = {"job": folder.name, "tool": "1", "outcome": "good", "uid": "0" * 32}
    assert "Logged as entry 1" in told(me.post("/log/new", sent))
    code = report.findings[0].code
    assert me.post(f"/job/{folder.name}/quiet", {"code": code, "reason": "ok"}).status_code == 422
    assert me.post(f"/job/{folder.name}/quiet", {"code": "NONE-99", "reason": "because"}).status_code == 422
    assert me.post(f"/job/{folder.name}/quiet", {"code": code, "reason": "tried on scrap"}).status_code == 200
    assert [(q.code, q.reason) for q in load_job(folder.job).quiet] == [(code, "tried on scrap")]
    assert "have changed since this check" in page or "Checking" in told(me.get(f"/job/{folder.name}"))
    again = me.door.bench.of(folder.name)
    assert again is not None and again is not task and again.kind == "check", "it is checked again at once"
    me.post(f"/job/{folder.name}/quiet", {"code": code, "take_back": "1"})
    assert load_job(folder.job).quiet == ()
    me.door.bench.close()


def test_copies_are_made_and_taken_and_the_program_stays_as_it_was(me: Visitor, folder: JobFolder) -> None:
    for kind, more, ready in (("lift", {"by": "30"}, "lifted"), ("restart", {"line": "13"}, "restart")):
        me.post(f"/job/{folder.name}/run/{kind}", more)
        task = me.door.bench.of(folder.name)
        assert task is not None and task.over.wait(120) and task.state == "done", task.lines
        page = told(me.get(f"/job/{folder.name}"))
        assert {"lifted": "30 mm higher", "restart": "from line"}[ready] in page.lower() or ready in page
    answer = me.get(f"/job/{folder.name}/file/lifted")
    assert 'filename="slots-lifted.nc"' in answer.headers["content-disposition"]
    assert answer.content != SLOTS.encode() and b"Z40" in answer.content
    assert me.get(f"/job/{folder.name}/file/program").content == SLOTS.encode()
    assert me.post(f"/job/{folder.name}/run/restart", {"line": "x"}).status_code == 422


def test_proposed_screws_go_into_the_job_that_they_were_made_for_only(me: Visitor, folder: JobFolder) -> None:
    me.post(f"/job/{folder.name}/run/screws")
    task = me.door.bench.of(folder.name)
    assert task is not None and task.over.wait(120) and task.state == "done", task.lines
    page = told(me.get(f"/job/{folder.name}"))
    assert "screws that would hold" in page and task.facts["places"] >= 2
    before = folder.job.read_bytes()
    folder.job.write_bytes(before + b"# changed\n")
    assert "screws that would hold" not in told(me.get(f"/job/{folder.name}"))
    answer = me.post(f"/job/{folder.name}/screws")
    assert answer.status_code == 422 and "look for them again" in told(answer)
    folder.job.write_bytes(before)
    assert me.post(f"/job/{folder.name}/screws").status_code == 200
    screws = load_job(folder.job).screws
    assert screws is not None and len(screws) == task.facts["places"]
    me.door.bench.close()


@pytest.mark.parametrize("key", ["../job.yaml", "page.json", "report", "%2e%2e", "check.json"])
def test_only_known_files_are_given(me: Visitor, folder: JobFolder, key: str) -> None:
    assert me.get(f"/job/{folder.name}/file/{key}").status_code in (404, 422)


@pytest.mark.parametrize("name", ["%2e%2e", "none-abcdef", ".hidden", "a/b"])
def test_only_jobs_of_the_list_are_opened(me: Visitor, folder: JobFolder, name: str) -> None:
    assert me.get(f"/job/{name}").status_code in (404, 422)
    assert me.get(f"/job/{name}/edit").status_code in (404, 422)


def _order(folder: JobFolder, **more: Any) -> dict[str, Any]:
    out = str(folder.path / "result")
    return {"program": str(folder.program), "job": None, "out": out, "units": "mm", "stamp": "x", **more}


def test_one_runs_the_others_wait_and_say_so_and_a_cancelled_one_writes_nothing(
    me: Visitor, folder: JobFolder
) -> None:
    bench = Bench()
    first = bench.submit("check", folder.name, _order(folder), "me")
    assert bench.submit("check", folder.name, _order(folder), "me") is first, "twice the same is once"
    second = bench.submit("facts", "other", _order(folder), "phone")
    from millcalc.page.check import said

    for _ in range(200):
        if first.state == "running":
            break
        first.over.wait(0.02)
    assert bench.before(second) == 1
    assert said(second, 1) == "waiting: one check runs at a time, 1 before yours"
    bench.cancel(first)
    assert first.over.wait(20) and first.state == "cancelled"
    assert second.over.wait(60) and second.state == "done" and second.facts["tools"] == [1]
    assert not (folder.path / "result" / "check.json").exists()
    third = bench.submit("check", folder.name, _order(folder), "me")
    fourth = bench.submit("facts", "more", _order(folder), "me")
    bench.cancel(fourth)
    assert fourth.state == "cancelled" and fourth.over.is_set(), "one that waits is gone at once"
    bench.cancel(third)


def test_a_check_that_takes_too_long_ends_with_a_sentence(folder: JobFolder) -> None:
    slow = Bench(seconds=0.05).submit("check", folder.name, _order(folder), "me")
    assert slow.over.wait(20) and slow.state == "failed" and "longer than" in slow.lines[0]
    assert not (folder.path / "result" / "check.json").exists()


@pytest.mark.skipif(
    sys.platform != "linux", reason="other systems hold to a memory limit loosely or not at all"
)
def test_a_check_that_wants_too_much_memory_ends_with_a_sentence(tmp_path: Path) -> None:
    script = (
        "from millcalc.page import worker\n"
        "worker.KINDS['greedy'] = lambda *_: bytearray(3_000_000_000)\n"
        "class Pipe:\n    def send(self, what):\n        print(what)\n"
        f"worker.run('greedy', {{'out': {str(tmp_path / 'out')!r}}}, Pipe(), 1_000_000_000)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert "not enough memory for this program" in done.stdout


def test_too_many_that_wait_are_refused(folder: JobFolder, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench()
    monkeypatch.setattr(bench, "_work", lambda: None)
    for number in range(tuning.MOST_WAITING):
        bench.submit("check", f"job-{number}", {}, "me")
    with pytest.raises(Exception, match="wait already"):
        bench.submit("check", "one-more", {}, "me")


def test_a_program_that_is_no_program_is_told(me: Visitor) -> None:
    import zipfile
    from io import BytesIO

    packed = BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("plate.nc", "G1 X1\n" * 200_000)
    me.post("/check/new", files={"program": ("plate.zip", packed.getvalue(), "application/zip")})
    folder = Place(me.door.folder).all()[0]
    task = me.door.bench.of(folder.name)
    assert isinstance(task, Task) and task.over.wait(60)
    me.post(f"/job/{folder.name}/run/check")
    task = me.door.bench.of(folder.name)
    assert task is not None and task.over.wait(60)
    text = told(me.get(f"/job/{folder.name}"))
    assert "stop" in text.lower() or task.state == "failed"
    assert "no problem found" not in text.lower()


def test_state_is_for_those_inside_only(me: Visitor, folder: JobFolder) -> None:
    me.post(f"/job/{folder.name}/run/lift")
    task = me.door.bench.of(folder.name)
    assert task is not None
    path = f"/job/{folder.name}/state/{task.name}"
    assert json.loads(me.get(path).text)["state"] in ("waiting", "running", "done")
    assert Visitor(me.door, inside=False).get(path).status_code == 401
    assert (
        me.client.post(f"/job/{folder.name}/cancel/{task.name}", headers={"origin": BASE}).status_code == 403
    )
    me.post(f"/job/{folder.name}/cancel/{task.name}")
    assert task.over.wait(20)
