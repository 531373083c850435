"""A person's own tables: which folder wins, what a new row inherits, and whose source a number carries."""

from __future__ import annotations

from pathlib import Path

import pytest

from millcalc.errors import InputError, ManyErrors
from millcalc.tables import (
    config_root,
    data_root,
    list_names,
    load_cutter,
    load_machine,
    load_material,
    load_sources,
    search_roots,
    summaries,
)
from tests.tables.conftest import Write

OWN = "source: own-measurement, confidence: measured"


def shipped(kind: str, name: str) -> str:
    return (data_root() / kind / f"{name}.yaml").read_text(encoding="utf-8")


def test_working_folder_wins_over_settings_and_settings_over_shipped(put: Write) -> None:
    assert load_cutter("flat-6mm-1f").title.startswith("Flat, 6 mm")
    folder = config_root() / "materials" / "cutters"
    folder.mkdir(parents=True)
    (folder / "flat-6mm-1f.yaml").write_text(
        "based_on: flat-6mm-1f\ntitle: from settings\n", encoding="utf-8"
    )
    assert load_cutter("flat-6mm-1f").title == "from settings"
    put("materials/cutters/flat-6mm-1f.yaml", "based_on: flat-6mm-1f\ntitle: from the working folder\n")
    row = load_cutter("flat-6mm-1f")
    assert row.title == "from the working folder"
    assert row.flutes == 1
    assert len(search_roots()) == 3


def test_a_row_of_the_same_name_replaces_the_shipped_one_whole(put: Write) -> None:
    text = shipped("materials", "softwood").replace('title: "', 'title: "My ')
    put("materials/materials/softwood.yaml", text)
    count = len(list_names("materials"))
    assert load_material("softwood").title.startswith("My ")
    assert len(list_names("materials")) == count


def test_a_new_row_extends_and_inherits_no_alias(put: Write) -> None:
    text = f"based_on: al-6082-t6\ntitle: My bar\nkc11_n_mm2: {{value: 820, {OWN}}}\n"
    put("materials/materials/my-bar.yaml", text)
    row = load_material("My Bar")
    assert (row.name, row.kc11_n_mm2.value, row.kc11_n_mm2.low, row.kc11_n_mm2.source) == (
        "my-bar", 820, None, "own-measurement",
    )  # fmt: skip
    assert row.mc == load_material("al-6082-t6").mc
    assert row.aliases == ()
    assert load_material("6082").name == "al-6082-t6"
    assert "my-bar" in list_names("materials")
    mine = [entry for entry in summaries("materials")[0] if not entry.shipped]
    assert [entry.name for entry in mine] == ["my-bar"]
    assert mine[0].group == "aluminium"


def test_own_alias_reaches_the_own_row(put: Write) -> None:
    put("materials/machines/shed.yaml", "based_on: gantry-800w\naliases: [mine, 42]\n")
    assert load_machine("MINE").name == "shed"
    assert load_machine("42").aliases == ("mine", "42")


def test_a_group_is_merged_but_a_sourced_value_is_replaced_whole(put: Write) -> None:
    text = f"based_on: gantry-800w\nspindle:\n  runout_um: {{value: 12, {OWN}}}\n"
    put("materials/machines/shed.yaml", text)
    row, base = load_machine("shed"), load_machine("gantry-800w")
    assert row.spindle.runout_um.value == 12
    assert row.spindle.runout_um.high is None
    assert row.spindle.power == base.spindle.power
    for own in ("{value: 12}", "12"):
        put("materials/machines/shed.yaml", f"based_on: gantry-800w\nspindle:\n  runout_um: {own}\n")
        given = load_machine("shed").spindle.runout_um
        assert (given.value, given.high, given.source) == (12, None, "given-by-you")
        assert given.confidence == "given by you"


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("drop_mm: 100", "drop_mm"),
        ("spindle: {max_rpm: 18000}", "spindle.max_rpm"),
        ("spindle: {power: [{rpm: 24000, power_w: 500}]}", "spindle.power"),
        ("spindle: {collet_nut_diameter_mm: 3/4 in}", "spindle.collet_nut_diameter_mm"),
    ],
)
def test_a_changed_number_without_a_source_is_given_by_you(put: Write, text: str, field: str) -> None:
    """It never travels under someone else's source, and the person need not know what a source key is."""
    put("materials/machines/shed.yaml", f"based_on: gantry-800w\n{text}\n")
    row = load_machine("shed")
    if field == "drop_mm":
        assert (row.drop_mm, row.source, row.confidence) == (100, "given-by-you", "given by you")
    elif field == "spindle.power":
        assert (row.spindle.power_source, row.spindle.source) == ("given-by-you", "estimate")
    else:
        assert (row.spindle.source, row.spindle.confidence) == ("given-by-you", "given by you")
        assert row.spindle.power_source != "given-by-you" and row.source == "estimate"


def test_a_changed_number_with_its_own_source_is_taken(put: Write) -> None:
    put(
        "materials/machines/shed.yaml",
        "based_on: gantry-800w\ndrop_mm: 100\nsource: own-measurement\nconfidence: measured\n"
        "spindle:\n  power: [{rpm: 24000, power_w: 500}]\n  power_source: own-measurement\n"
        "  power_confidence: measured\n",
    )
    row = load_machine("shed")
    assert (row.drop_mm, row.source, row.spindle.power[0].power_w) == (100, "own-measurement", 500)
    assert row.spindle.source == "estimate"


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("based_on: gantry-801w", "unknown machine"),
        ("based_on: [gantry-800w]", "a list"),
        ("based_on:", "nothing"),
        ("based_on: shed", "unknown machine"),
    ],
)
def test_base_that_is_not_there(put: Write, text: str, found: str) -> None:
    put("materials/machines/shed.yaml", text + "\n")
    with pytest.raises(InputError) as caught:
        load_machine("shed")
    assert found in caught.value.found
    assert (caught.value.field, caught.value.line) == ("based_on", 1)


def test_bases_in_a_circle(put: Write) -> None:
    put("materials/machines/a.yaml", "based_on: b\n")
    put("materials/machines/b.yaml", "based_on: a\n")
    with pytest.raises(InputError, match="circle"):
        load_machine("a")


def test_error_in_an_inherited_field_points_at_the_base_line(put: Write) -> None:
    put("materials/cutters/odd.yaml", "title: odd\nbased_on: flat-6mm-1f\nkind: ball\n")
    with pytest.raises(InputError) as caught:
        load_cutter("odd")
    assert caught.value.field == "corner_radius_mm"


def test_name_must_match_the_file(put: Write) -> None:
    put("materials/cutters/mine.yaml", "name: yours\nbased_on: flat-6mm-1f\n")
    with pytest.raises(InputError, match="the file's name, mine"):
        load_cutter("mine")


def test_sources_extend(put: Write) -> None:
    put(
        "materials/sources.yaml",
        "my-supplier: {title: Supplier, kind: published, reference: 'Data sheet of my supplier, 2024'}\n",
    )
    text = "based_on: al-6082-t6\nkc11_n_mm2: {value: 820, source: my-supplier, confidence: published}\n"
    put("materials/materials/my-bar.yaml", text)
    assert load_material("my-bar").kc11_n_mm2.source == "my-supplier"
    assert "iso-group-kc" in load_sources()


def test_sources_with_a_fault(put: Write) -> None:
    path = put(
        "materials/sources.yaml",
        "a: {title: A, kind: published, reference: B}\nb: {title: C, kind: rumour}\n",
    )
    with pytest.raises(InputError) as caught:
        load_sources()
    text = str(caught.value)
    assert f"{path}:2: b.kind: found 'rumour'" in text
    assert "b.reference: found nothing" in text


def test_the_shipped_folder_itself_as_working_folder() -> None:
    """In a checkout, ./materials is the shipped folder; it is searched once."""
    assert len(search_roots(data_root().parent)) == 1


def test_tables_in_another_working_folder(put: Write, tmp_path: Path) -> None:
    put("materials/cutters/mine.yaml", "based_on: flat-6mm-1f\n")
    assert load_cutter("mine", start=tmp_path / "work").name == "mine"
    with pytest.raises(InputError, match="unknown cutter"):
        load_cutter("mine", start=tmp_path)


def test_all_faults_of_a_table_with_a_base_are_reported_together(put: Write) -> None:
    put(
        "materials/machines/shed.yaml",
        "based_on: gantry-800w\ndrop_mm: 90\nspindel: {max_rpm: 3}\ndrive: rope\n",
    )
    with pytest.raises(ManyErrors) as caught:
        load_machine("shed")
    assert [(e.line, e.field) for e in caught.value.errors] == [(3, "spindel"), (4, "drive")]
    assert caught.value.errors[0].action == "write spindle, if that is meant"
    _, errors = summaries("machines")
    assert errors == []  # the list of machines reads titles only
