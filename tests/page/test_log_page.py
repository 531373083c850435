"""The flow of the log: an entry is what the command line would log, made once, and nothing is lost."""

from __future__ import annotations

import html
import json
import re
import threading
from pathlib import Path
from typing import Any

import pytest

from millcalc.cutlog.store import Log
from tests.helpers.command import run
from tests.page.doors import Visitor, told

CUT = {"machine": "gantry-800w", "material": "al-6082-t6", "cutter": "flat-6mm-1f", "cut": "slot"}


def advised(me: Visitor, **more: str) -> str:
    found = re.search(r'data-advice="([^"]+)"', me.post("/settings/answer", {**CUT, **more}).text)
    assert found
    return found[1]


def form_of(answer: Any) -> dict[str, str]:
    """The fields of the form as it was filled in."""
    body = answer.text.split('id="went"', 1)[1]
    found = {}
    for tag in re.findall(r"<input [^>]+>", body):
        at = dict(re.findall(r'([a-z_-]+)="([^"]*)"', tag))
        if at.get("type") not in ("radio", "checkbox"):
            found[at["name"]] = html.unescape(at.get("value", ""))
    return found


def entries(tmp_path: Path) -> list[Any]:
    with Log(tmp_path / "cuts.db", create=False, readonly=True) as log:
        return [stored.entry for stored in log.find()]


def test_a_cut_from_the_settings_is_logged_as_the_command_line_logs_it(me: Visitor, tmp_path: Path) -> None:
    form = form_of(me.get(f"/log/new?from={advised(me)}"))
    assert form["rpm"] == "13200" and form["feed"] == "390"
    answer = me.post("/log/new", {**form, "outcome": "good", "sound": "hum", "chip_form": "curls"})
    assert answer.status_code == 200 and "Logged as entry 1" in told(answer)
    mine = entries(tmp_path)[0]
    words = [word for name, value in CUT.items() for word in (f"--{name}", value)]
    advice = tmp_path / "advice.json"
    advice.write_text(run(["settings", *words, "--json"], tmp_path).stdout, encoding="utf-8")
    added = [
        "log",
        "add",
        "--from-settings",
        str(advice),
        "--outcome",
        "good",
        "--log",
        str(tmp_path / "other.db"),
    ]
    assert run(added, tmp_path).returncode == 0
    with Log(tmp_path / "other.db", readonly=True) as log:
        other = log.find()[0].entry
    same = {"uid": "", "when": mine.when, "sound": None, "chip_form": None}
    assert mine.model_copy(update=same) == other.model_copy(update=same)
    assert mine.shares and mine.sound == "hum"


def test_other_numbers_than_advised_drop_the_prediction_and_are_judged_anew(
    me: Visitor, tmp_path: Path
) -> None:
    form = form_of(me.get(f"/log/new?from={advised(me)}"))
    sent = {**form, "ap": "2", "outcome": "failed", "symptoms": "chatter", "override": "80 %"}
    answer = me.post("/log/new", sent)
    assert "next time" in told(answer).lower()
    entry = entries(tmp_path)[0]
    assert entry.axial_depth_mm == 2 and entry.symptoms == ("chatter",) and entry.override_percent == 80
    assert entry.shares["deflection"] > 1, "twice the depth is beyond the limit"


def test_pressed_twice_it_is_logged_once(me: Visitor, tmp_path: Path) -> None:
    form = form_of(me.get(f"/log/new?from={advised(me)}"))
    for _ in range(3):
        assert me.post("/log/new", {**form, "outcome": "good"}).status_code == 200
    assert len(entries(tmp_path)) == 1


def test_phone_and_laptop_at_once_lose_nothing(me: Visitor, tmp_path: Path) -> None:
    phone = Visitor(me.door)
    forms = [
        (one, form_of(one.get(f"/log/new?from={advised(one)}"))) for one in (me, phone) for _ in range(4)
    ]
    codes: list[int] = []

    def send(one: Visitor, form: dict[str, str]) -> None:
        codes.append(one.post("/log/new", {**form, "outcome": "good"}).status_code)

    threads = [threading.Thread(target=send, args=pair) for pair in forms]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert codes == [200] * 8 and len({entry.uid for entry in entries(tmp_path)}) == 8


@pytest.mark.parametrize(
    ("change", "reads"),
    [
        ({}, "say how it went"),
        ({"outcome": "great"}, "say how it went"),
        ({"outcome": "good", "ae": "9"}, "larger than the cutter"),
        ({"outcome": "good", "feed": "fast"}, "Feed"),
        ({"outcome": "good", "override": "2000"}, "write 1 to 1000"),
    ],
)
def test_what_cannot_be_logged_is_named_and_stays_typed(
    me: Visitor, tmp_path: Path, change: Any, reads: str
) -> None:
    form = form_of(me.get(f"/log/new?from={advised(me)}"))
    answer = me.post("/log/new", {**form, "notes": "front edge", **change})
    assert answer.status_code == 422 and reads in told(answer) and "front edge" in answer.text
    assert not (tmp_path / "cuts.db").exists() or entries(tmp_path) == []


def test_a_cut_by_hand_is_found_corrected_taken_out_and_brought_back(me: Visitor, tmp_path: Path) -> None:
    form = form_of(me.get("/log/new"))
    hostile = "<script>alert(1)</script> \u202e\x1b[2J"
    names = {
        "machine": "gantry-800w",
        "material": "plywood-birch",
        "cutter": "flat-3mm-2f",
        "operation": "side",
    }
    sent = {**form, **names, "rpm": "18000", "feed": "1200", "ap": "1", "ae": "1.5", "outcome": "acceptable"}
    assert me.post("/log/new", {**sent, "notes": hostile}).status_code == 200
    assert "plywood-birch" in told(me.get("/log")) and "1 cut" in told(me.get("/log?material=plywood-birch"))
    assert "No such cut" in told(me.get("/log?outcome=failed"))
    page = me.get("/log/1")
    assert "<script>alert" not in page.text and "\x1b" not in page.text and "\u202e" not in page.text
    me.post("/log/1", {"what": "edit", "outcome": "good", "notes": "clean now"})
    assert entries(tmp_path)[0].outcome == "good" and "outcome: acceptable → good" in told(me.get("/log/1"))
    me.post("/log/1", {"what": "remove"})
    assert entries(tmp_path) == [] and "(taken out)" in told(me.get("/log/1"))
    me.post("/log/1", {"what": "undo"})
    assert len(entries(tmp_path)) == 1
    assert me.get("/log/99").status_code == 422 and "no entry 99" in told(me.get("/log/99"))


def test_failures_teach_and_the_page_says_what(me: Visitor) -> None:
    for depth in ("2", "1.6", "1.8", "1.7"):
        form = form_of(me.get(f"/log/new?from={advised(me)}"))
        sent = {**form, "ap": depth, "outcome": "failed", "symptoms": "tapered-wall", "uid": ""}
        assert me.post("/log/new", sent).status_code == 200
    page = told(me.get("/log/learnt"))
    assert "gantry-800w: 4 cuts looked at" in page and "What worked" in page and "al-6082-t6" in page
    me.post("/log/altered", {"machine": "gantry-800w", "what": "stiffer Z plate"})
    assert "stiffer Z plate" in told(me.get("/log/learnt"))


def test_it_is_taken_along_and_brought_in_again_without_doubles(me: Visitor, tmp_path: Path) -> None:
    assert me.get("/log/export/csv").status_code == 422
    form = form_of(me.get(f"/log/new?from={advised(me)}"))
    me.post("/log/new", {**form, "outcome": "good"})
    data = {form: me.get(f"/log/export/{form}") for form in ("csv", "json")}
    assert "attachment" in data["csv"].headers["content-disposition"]
    assert json.loads(data["json"].content)["entries"][0]["outcome"] == "good"
    for form_name, name in (("json", "cuts.json"), ("csv", "cuts.csv")):
        answer = me.post("/log/import", files={"file": (name, data[form_name].content)})
        assert "0 cuts added, 1 known already" in told(answer)
    rows = data["csv"].content.decode("utf-8-sig").splitlines()
    bad = "\n".join([rows[0], rows[1].replace("good", "superb").replace(entries(tmp_path)[0].uid, "")])
    answer = me.post("/log/import", files={"file": ("cuts.csv", bad.encode())})
    assert (
        answer.status_code == 422 and "1 row cannot be used" in told(answer) and "/tmp/" not in told(answer)
    )
    assert len(entries(tmp_path)) == 1
    assert me.post("/log/import", files={"file": ("cuts.csv", b"\xff\xfe\x00")}).status_code == 422
