"""The flow of settings answers as the command line does, and takes nothing it should not."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.helpers.command import run
from tests.page.doors import Visitor, make_door, told

CUT = {"machine": "gantry-800w", "material": "al-6082-t6", "cutter": "flat-6mm-1f", "cut": "slot"}
WORDS = ["--machine", "gantry-800w", "--material", "al-6082-t6", "--cutter", "flat-6mm-1f"]


@pytest.mark.parametrize("more", [{"proven": "1"}, {"cut": "side", "ae": "1.5"}])
def test_the_numbers_are_those_of_the_command_line(me: Visitor, tmp_path: Path, more: dict[str, str]) -> None:
    text = told(me.post("/settings/answer", {**CUT, **more}))
    options = [
        word for name, value in more.items() for word in (f"--{name}", *([value] if name != "proven" else []))
    ]
    said = run(["settings", *WORDS, *options], tmp_path).stdout
    for word in ("spindle", "feed", "depth a pass", "width"):
        parts = (
            re.split(r"\s{3,}", line.strip()) for line in said.splitlines() if line.strip().startswith(word)
        )
        value = next(row[1] for row in parts if len(row) > 1)
        assert value in text, (word, value)
    governs = next(line.strip() for line in said.splitlines() if "governs" in line or "OVER" in line)
    assert governs[1:40] in text


def test_a_cut_beyond_the_limits_says_so_before_its_numbers(me: Visitor) -> None:
    text = told(me.post("/settings/answer", {**CUT, "ap": "9"}))
    assert "NOT WITHIN THE LIMITS" in text and text.index("NOT WITHIN") < text.index("spindle")


@pytest.mark.parametrize(
    ("field", "value", "reads"),
    [
        ("ap", "deep", "depth"),
        ("stickout", "90", "stickout"),
        ("material", "<script>alert(1)</script>", "found"),
        ("cutter", "../../../etc/passwd", "found"),
        ("cut", "saw", "kind of cut"),
        ("ae", "7", "at most the cutter's diameter"),
    ],
)
def test_what_cannot_be_is_named_with_its_remedy(me: Visitor, field: str, value: str, reads: str) -> None:
    answer = me.post("/settings/answer", {**CUT, field: value})
    text = told(answer).lower()
    assert (
        answer.status_code == 200
        and reads.lower() in text
        and ("accepted" in text or "write for example" in text)
    )
    assert "<script>alert" not in answer.text and "traceback" not in text and "--" not in text


def test_what_is_still_to_be_chosen_is_asked_for(me: Visitor) -> None:
    assert "Choose a material and a cutter" in told(me.post("/settings/answer", {"machine": "gantry-800w"}))


def test_own_cutters_come_first_and_every_cutter_has_its_picture(me: Visitor, tmp_path: Path) -> None:
    (tmp_path / "shop.yaml").write_text(
        "machine: gantry-1500w\ncutters: [ball-4mm-2f, vee-60-6mm]\n", encoding="utf-8"
    )
    text = me.get("/settings").text
    names = re.findall(r'name="cutter" value="([^"]+)"', text)
    assert names[:2] == ["ball-4mm-2f", "vee-60-6mm"] and len(names) > 60
    assert text.count('<svg class="cutter"') == len(names)
    assert re.search(r'name="machine" value="gantry-1500w" checked', text), (
        "the shop's machine is chosen already"
    )


def test_units_are_switched_and_remembered_by_the_next_start(me: Visitor, tmp_path: Path) -> None:
    assert "mm/min" in told(me.post("/settings/answer", CUT))
    me.post("/units", {"units": "in"})
    assert "in/min" in told(me.post("/settings/answer", CUT))
    later = Visitor(make_door(tmp_path))
    assert "in/min" in told(later.post("/settings/answer", CUT))


def test_the_rest_tells_changes_limits_and_sources_and_the_sheet_prints_the_care(me: Visitor) -> None:
    answer = me.post("/settings/answer", {**CUT, "thickness": "6"})
    name = re.search(r'data-advice="([^"]+)"', answer.text)[1]  # type: ignore[index]
    assert "passes of" in told(answer)
    beside = me.get(f"/settings/map/{name}")
    assert "data-map" in beside.text and "deep here" in told(beside), "the map follows its answer"
    rest = told(me.get(f"/settings/rest/{name}"))
    for words in ("Best changes", "× the removal", "Every limit", "deflection", "Where the numbers are from"):
        assert words in rest
    sheet = told(me.get(f"/settings/sheet/{name}"))
    for words in ("Safety glasses", "ear protection", "Never leave a running cut alone", "Print", "6 mm: "):
        assert words in sheet
    stranger = Visitor(me.door)
    for part in ("sheet", "map", "rest"):
        assert stranger.get(f"/settings/{part}/{name}").status_code == 404, "an advice belongs to its sitting"


def test_the_map_gives_the_depth_that_the_advice_takes(me: Visitor) -> None:
    """At the advised width, the width map's lowest limit lies at the advised depth, rounded as one sets it."""
    from millcalc.advise.advice import advise
    from millcalc.advise.width_map import width_map
    from millcalc.limits.build import make_tooling
    from millcalc.limits.request import CutRequest
    from millcalc.tables import load_cutter, load_machine, load_material

    tooling = make_tooling(
        load_machine(CUT["machine"]), load_material(CUT["material"]), load_cutter(CUT["cutter"])
    )
    advice = advise(tooling, CutRequest("side"), buys=False)
    found = width_map(advice)
    at = list(found.widths_mm).index(advice.settings.radial_width_mm)
    assert advice.settings.axial_depth_mm <= found.ceiling_mm[at] * 1.001
    assert advice.settings.axial_depth_mm >= found.ceiling_mm[at] * 0.9
    assert (found.ceiling_mm[1:] <= found.ceiling_mm[:-1] * 1.001).all(), "a wider cut never goes deeper"


def test_what_is_remembered_is_plain_and_a_broken_file_is_no_reason_to_stop(
    me: Visitor, tmp_path: Path
) -> None:
    kept = tmp_path / "jobs" / "page.json"
    me.post("/units", {"units": "in"})
    assert json.loads(kept.read_text(encoding="utf-8")) == {"units": "in"}
    kept.write_text("{", encoding="utf-8")
    assert Visitor(me.door).get("/settings").status_code == 200


def test_a_table_that_was_changed_is_read_again_at_once(me: Visitor, tmp_path: Path) -> None:
    own = tmp_path / "materials" / "cutters" / "mine.yaml"
    own.parent.mkdir(parents=True)
    own.write_text("based_on: flat-6mm-1f\ntitle: my own cutter\n", encoding="utf-8")
    assert "my own cutter in" in told(me.post("/settings/answer", {**CUT, "cutter": "mine"}))
    own.write_text("based_on: flat-6mm-1f\ntitle: my reground cutter\n", encoding="utf-8")
    assert "my reground cutter in" in told(me.post("/settings/answer", {**CUT, "cutter": "mine"}))


@pytest.mark.parametrize(
    ("kind", "command", "reads"),
    [
        ("ways", ["alternatives"], "ways to make this cut"),
        ("bed", ["alternatives", "--bed"], "bed heights side by side"),
        ("speeds", ["stability"], "quiet at any speed up to a depth of"),
    ],
)
def test_further_answers_are_those_of_the_command_line(
    me: Visitor, tmp_path: Path, kind: str, command: list[str], reads: str
) -> None:
    name = re.search(r'data-advice="([^"]+)"', me.post("/settings/answer", CUT).text)[1]  # type: ignore[index]
    assert f"/settings/drawn/{name}/{kind}" in me.get(f"/settings/more/{name}/{kind}").text
    answer = me.get(f"/settings/drawn/{name}/{kind}")
    assert reads in told(answer) and "default-src 'none'" in answer.headers["content-security-policy"]
    said = " ".join(run([*command, *WORDS], tmp_path).stdout.split())
    numbers = re.findall(r"\d+(?:\.\d+)? (?:rpm|mm/min|mm)\b", said)
    assert len(numbers) > 3 and all(number in told(answer) for number in numbers[:12])
    assert me.get(f"/settings/more/{name}/nothing").status_code == 404
    assert Visitor(me.door).get(f"/settings/drawn/{name}/{kind}").status_code == 404
