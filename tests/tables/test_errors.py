"""A table with something wrong: the error names file, line, field, what was found and what is accepted."""

from __future__ import annotations

import math
import shutil
from pathlib import Path

import pytest

from millcalc.errors import InputError, ManyErrors, TableError
from millcalc.tables import data_root, load_cutter, load_machine, load_material, load_row
from millcalc.tables.rows import row_from
from millcalc.tables.yaml_lines import parse_marked
from tests.tables.conftest import Write

CUTTER = """\
title: Test cutter
kind: flat
spiral: up
material: carbide uncoated
diameter_mm: 6
flutes: 2
flute_length_mm: 20
shank_mm: 6
overall_mm: 50
helix_deg: 30
edge_radius_um: {value: 5, source: estimate, confidence: estimate}
max_rpm: {value: 30000, source: estimate, confidence: estimate}
centre_cutting: true
source: estimate
confidence: estimate
"""


def errors_of(kind: str, name: str) -> list[InputError]:
    with pytest.raises(InputError) as caught:
        load_row(kind, name)
    problem = caught.value
    return list(problem.errors) if isinstance(problem, ManyErrors) else [problem]


def changed(old: str, new: str) -> str:
    assert old in CUTTER
    return CUTTER.replace(old, new)


def line_of(text: str, start: str) -> int:
    return next(i for i, line in enumerate(text.splitlines(), 1) if line.startswith(start))


def test_the_test_cutter_itself_loads(put: Write) -> None:
    put("materials/cutters/test.yaml", CUTTER)
    assert load_cutter("test").flutes == 2


CASES = [
    ("diameter_mm: 6", "diameter_mm: -6", "diameter_mm", "-6", "above 0"),
    ("diameter_mm: 6", "diameter_mm: 0", "diameter_mm", "0", "above 0"),
    ("diameter_mm: 6", "diameter_mm: .nan", "diameter_mm", "nan", "finite"),
    ("diameter_mm: 6", "diameter_mm: .inf", "diameter_mm", "inf", "finite"),
    ("diameter_mm: 6", "diameter_mm: nan", "diameter_mm", "nan", ""),
    ("diameter_mm: 6", "diameter_mm: six", "diameter_mm", "six", ""),
    ("diameter_mm: 6", "diameter_mm: [6]", "diameter_mm", "a list of 1", "number"),
    ("diameter_mm: 6", "diameter_mm:", "diameter_mm", "nothing", "number"),
    ("diameter_mm: 6", "diameter_mm: true", "diameter_mm", "true", "number"),
    ("diameter_mm: 6", "diameter_mm: -1/4 in", "diameter_mm", "-1/4 in", ""),
    ("flutes: 2", "flutes: 0", "flutes", "0", "not below 1"),
    ("flutes: 2", "flutes: 13", "flutes", "13", "not above 12"),
    ("flutes: 2", "flutes: 2.5", "flutes", "2.5", "whole number"),
    ("kind: flat", "kind: flatt", "kind", "flatt", "flat"),
    ("kind: flat", "kind: vee", "included_angle_deg", "nothing", "included angle"),
    ("kind: flat", "kind: ball", "corner_radius_mm", "0", "half the diameter, 3"),
    ("kind: flat", "kind: bull-nose", "corner_radius_mm", "0", "above 0 and below 3"),
    ("spiral: up", "spiral: down", "helix_deg", "30", "negative"),
    ("flute_length_mm: 20", "flute_length_mm: 55", "flute_length_mm", "55", "less than overall_mm 50"),
    ("helix_deg: 30", "helix_deg: 75", "helix_deg", "75", "not above 60"),
    ("centre_cutting: true", "centre_cutting: maybe", "centre_cutting", "maybe", "true or false"),
    ("centre_cutting: true", "centre_cuting: true", "centre_cuting", "not known", "centre_cutting"),
    ("shank_mm: 6\n", "", "shank_mm", "nothing", "needed"),
    ("\nsource: estimate", "\nsource: estimat", "source", "unknown source 'estimat'", "estimate"),
    ("{value: 5, source: estimate, confidence: estimate}", "{value: 5, confidence: estimate}",
     "edge_radius_um.source", "nothing", "needed"),
    ("{value: 5, source: estimate, confidence: estimate}", "5", "edge_radius_um", "5", "group"),
    ("{value: 5, source: estimate,", "{value: 5, low: 6, high: 7, source: estimate,", "edge_radius_um",
     "value 5 outside 6 to 7", "low <= value <= high"),
    ("{value: 5, source: estimate,", "{value: -5, source: estimate,", "edge_radius_um", "-5", ""),
    ("{value: 5, source: estimate, confidence: estimate}", "{value: 5, source: estimate, confidence: published}",
     "edge_radius_um.confidence", "confidence published", "weaker"),
    ("{value: 5, source: estimate, confidence: estimate}", "{value: 5, source: estimate, confidence: sure}",
     "edge_radius_um.confidence", "sure", "estimate"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "field", "found", "accepted"), CASES)
def test_one_fault(put: Write, old: str, new: str, field: str, found: str, accepted: str) -> None:
    text = changed(old, new)
    path = put("materials/cutters/test.yaml", text)
    matching = [error for error in errors_of("cutters", "test") if error.field == field]
    assert len(matching) == 1, [str(error) for error in errors_of("cutters", "test")]
    error = matching[0]
    assert found in error.found
    assert accepted in error.accepted
    assert error.file == str(path)
    start = new.strip().splitlines()[0].split(" ")[0] if new.strip() and ":" in new.split("{")[0] else None
    if start and text.count("\n" + start) == 1 and field.startswith(start.rstrip(":")):
        assert error.line == line_of(text, start)
    assert str(error).startswith(f"{path}:{error.line}: {field}: found ")


def test_several_faults_are_reported_together_in_order(put: Write) -> None:
    text = changed("diameter_mm: 6", "diameter_mm: -6").replace("flutes: 2", "flutes: 0")
    text = text.replace("\nsource: estimate", "\nsource: nowhere").replace("shank_mm: 6", "shank_mm: six")
    put("materials/cutters/test.yaml", text)
    found = errors_of("cutters", "test")
    assert {error.field for error in found} == {"diameter_mm", "flutes", "shank_mm", "source"}
    assert [error.line for error in found] == sorted(error.line or 0 for error in found)


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "empty"),
        (b"  \n\n", "empty"),
        (b"# only a comment\n", "comments"),
        (b"\x00\x01\x02binary", "binary"),
        (b"title: caf\xe9\n", "UTF-8"),
        (b"title: [unclosed\n", "not YAML"),
        (b"title:\n\tkind: flat\n", "not YAML"),
        (b"- a\n- list\n", "list"),
        (b"just text\n", "just text"),
        (b"title: a\ntitle: b\n", "twice"),
        (b"title: &a [*a]\n", ""),
        (b"[" * 50_000, "not YAML"),
        (b"title: !!python/object:os.system x\nkind: flat\n", ""),
        (b"a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\nc: &c [*b,*b,*b,*b,*b,*b,*b,*b,*b]\n"
         b"d: &d [*c,*c,*c,*c,*c,*c,*c,*c,*c]\ne: &e [*d,*d,*d,*d,*d,*d,*d,*d,*d]\n"
         b"f: [*e,*e,*e,*e,*e,*e,*e,*e,*e]\n", "values"),
    ],
)  # fmt: skip
def test_file_that_is_no_table(own_folders: Path, data: bytes, found: str) -> None:
    path = own_folders / "materials" / "cutters" / "test.yaml"
    path.parent.mkdir(parents=True)
    path.write_bytes(data)
    errors = errors_of("cutters", "test")
    assert found in errors[0].found
    assert errors[0].file == str(path)
    assert errors[0].exit_code == 2


def test_byte_order_mark_and_windows_lines_are_fine(own_folders: Path) -> None:
    path = own_folders / "materials" / "cutters" / "test.yaml"
    path.parent.mkdir(parents=True)
    path.write_bytes(b"\xef\xbb\xbf" + CUTTER.replace("\n", "\r\n").encode())
    assert load_cutter("TEST").name == "test"


def test_directory_where_a_file_belongs(own_folders: Path) -> None:
    (own_folders / "materials" / "cutters" / "test.yaml").mkdir(parents=True)
    assert "directory" in errors_of("cutters", "test")[0].found


@pytest.mark.parametrize(
    ("kind", "name", "closest"),
    [
        ("materials", "al-6061-t7", "al-6061-t6"),
        ("materials", "plywod", "plywood-birch"),
        ("materials", "acryl", "acrylic-cast"),
        ("materials", "6083", "al-6082-t6"),
        ("cutters", "flat-6mm-5f", "flat-6mm-1f"),
        ("machines", "gantry-1600w", "gantry-1500w"),
    ],
)
def test_unknown_name_offers_the_closest(kind: str, name: str, closest: str) -> None:
    with pytest.raises(TableError) as caught:
        load_row(kind, name)
    assert f"'{name}'" in caught.value.found
    assert closest in caught.value.accepted
    assert f"millcalc tables {kind}" in caught.value.action


@pytest.mark.parametrize(
    "name", ["", "zirconium", "../materials/softwood", "/etc/passwd", "a\0b", "x" * 5000]
)
def test_strange_names_are_only_unknown(name: str) -> None:
    with pytest.raises(TableError, match="unknown material"):
        load_material(name)


def test_unknown_kind() -> None:
    with pytest.raises(TableError, match="unknown kind"):
        load_row("screws", "M4")


def test_unknown_name_mentions_unreadable_tables(put: Write) -> None:
    put("materials/materials/broken.yaml", "title: [")
    with pytest.raises(TableError) as caught:
        load_material("unobtainium")
    assert "could not be read" in caught.value.action
    assert "broken.yaml" in caught.value.action


def shipped(kind: str, name: str) -> str:
    return (data_root() / kind / f"{name}.yaml").read_text(encoding="utf-8")


MATERIAL_CASES = [
    ("mc: {value: 0.25,", "mc: {value: 1.25,", "mc", "exponent"),
    ("kc11_n_mm2: {value: 800, low: 700,", "kc11_n_mm2: {value: 800, low: -700,", "kc11_n_mm2", "not below 0"),
    ("cut: side", "cut: slot", "chip_load[2].cut", "each cut once"),
    ("floor_mm: 0.006\n    cap_mm: 0.06", "floor_mm: 0.07\n    cap_mm: 0.06", "chip_load[1]", "floor_mm <= cap_mm"),
    ("nominal: true", "nominal: false", "edge_sets", "nominal"),
    ("iso_group_source: iso-group-kc\n", "", "iso_group_source", "iso_group"),
    ("\nsource: common-practice\n", "\n", "source", "sources.yaml"),
    ("  - eyes\n", "  - eyez\n", "cautions[1]", "eyes"),
    ("plunge_share: {low: 0.15, high: 0.3,", "plunge_share: {low: 0.15, high: 1.3,", "plunge_share.high", "share"),
    ("plunge_share: {low: 0.15, high: 0.3,", "plunge_share: {low: 0.35, high: 0.3,", "plunge_share", "low <= start"),
    ("ramp_angle_deg: {low: 2, high: 5,", "ramp_angle_deg: {low: 2, high: 95,", "ramp_angle_deg.high", "below 90"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "field", "accepted"), MATERIAL_CASES)
def test_faults_of_a_material(put: Write, old: str, new: str, field: str, accepted: str) -> None:
    text = shipped("materials", "al-6061-t6")
    assert old in text
    put("materials/materials/test.yaml", text.replace(old, new, 1))
    assert [accepted in e.accepted for e in errors_of("materials", "test") if e.field == field] == [True]


MACHINE_CASES = [
    ("max_rpm: 24000", "max_rpm: 4000", "spindle.min_rpm", "max_rpm"),
    ("- {rpm: 24000, power_w: 640}", "- {rpm: 5000, power_w: 640}", "spindle.power", "higher rpm"),
    ("speed_set_by: program", "speed_set_by: dial", "spindle.dial", "mark"),
    ("rotary: 0.75", "rotary: 0.7", "drop_law", "= 1"),
    ("damping_ratio: 0.03", "damping_ratio: 1.03", "modes[1].damping_ratio", "below 1"),
    ("x: 0.8, y: 0.65", "x: 0.8, y: 0", "stiffness_n_um.y", "above 0"),
    ("power_source: mem-motor-theory", "power_source: nowhere", "spindle.power_source", "sources.yaml"),
]


@pytest.mark.parametrize(("old", "new", "field", "accepted"), MACHINE_CASES)
def test_faults_of_a_machine(put: Write, old: str, new: str, field: str, accepted: str) -> None:
    text = shipped("machines", "gantry-800w")
    assert old in text
    put("materials/machines/test.yaml", text.replace(old, new, 1))
    assert [accepted in e.accepted for e in errors_of("machines", "test") if e.field == field] == [True]


def test_texts_with_units_are_read(put: Write) -> None:
    text = changed("diameter_mm: 6", "diameter_mm: 1/4 in").replace("shank_mm: 6", "shank_mm: 0.25 in")
    put("materials/cutters/test.yaml", text.replace("{value: 30000,", "{value: 30 000 rpm,"))
    row = load_cutter("test")
    assert math.isclose(row.diameter_mm, 6.35)
    assert math.isclose(row.shank_mm, 6.35)
    put(
        "materials/machines/test.yaml",
        shipped("machines", "gantry-800w")
        .replace("max_feed_mm_min: {x: 4000", "max_feed_mm_min: {x: 100 in/min")
        .replace("travel_mm: {x: 600", "travel_mm: {x: 24 in"),
    )
    machine = load_machine("test")
    assert math.isclose(machine.max_feed_mm_min.x, 2540)
    assert math.isclose(machine.travel_mm.x, 609.6)


def test_what_one_reader_fills_in_no_other_finds() -> None:
    """A text that is parsed once is given out in lists and dictionaries of each reader's own."""
    text = "kind: flat\nsizes: [1, {of: 2}]\n"
    first, lines = parse_marked(text, "a.yaml")
    first["sizes"][1]["of"], first["new"], lines[("new",)] = 3, True, 9
    assert parse_marked(text, "a.yaml") == (
        {"kind": "flat", "sizes": [1, {"of": 2}]},
        {(): 1, ("kind",): 1, ("sizes",): 2, ("sizes", 0): 2, ("sizes", 1): 2, ("sizes", 1, "of"): 2},
    )


def test_a_shipped_row_is_read_again_once_its_file_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same object while the file stands as it is; the new number after a change; a person's own row every time."""
    folder = tmp_path / "tables"
    shutil.copytree(data_root(), folder)
    monkeypatch.setattr("millcalc.tables.locate.data_root", lambda: folder)
    path = folder / "cutters" / "flat-6mm-1f.yaml"
    first = row_from("cutters", path)
    assert row_from("cutters", path) is first
    path.write_text(
        path.read_text(encoding="utf-8").replace("diameter_mm: 6", "diameter_mm: 5.9 ", 1), encoding="utf-8"
    )
    assert row_from("cutters", path).diameter_mm == 5.9
    own = tmp_path / "mine.yaml"
    own.write_text("based_on: flat-6mm-1f\n", encoding="utf-8")
    assert row_from("cutters", own) is not row_from("cutters", own)
