"""Every shipped row: loads, is sourced, and says what the tables promise."""

from __future__ import annotations

import re

import pytest

from millcalc.tables import (
    alias_clashes,
    data_root,
    describe,
    list_names,
    load_cautions,
    load_cutter,
    load_machine,
    load_material,
    load_row,
    load_sources,
    summaries,
)
from millcalc.tables.drilling import load_drilling
from millcalc.tables.models import Machine, Material, Row
from millcalc.tables.names import KINDS

ROWS = [(kind, path.stem) for kind in KINDS for path in sorted((data_root() / kind).glob("*.yaml"))]
WANTED_MATERIALS = [
    "al-6061-t6",
    "al-6082-t6",
    "al-5083",
    "al-5754",
    "al-7075-t6",
    "al-2024",
    "al-2017",
    "al-1050",
    "al-cast-plate",
    "al-unknown",
    "brass-free-machining",
    "brass-cartridge",
    "copper",
    "steel-mild",
    "softwood",
    "hardwood-medium",
    "hardwood-dense",
    "plywood-birch",
    "mdf",
    "particle-board",
    "bamboo",
    "acrylic-cast",
    "acrylic-extruded",
    "polycarbonate",
    "acetal",
    "hdpe",
    "pvc-foam",
    "abs",
    "ptfe",
    "nylon",
    "g10-fr4",
    "carbon-fibre",
    "hpl",
    "pu-foam-240",
]
CAUTIONS = [
    "eyes",
    "ears",
    "gloves",
    "hands-off",
    "chips-sharp",
    "held-work",
    "fire-wood",
    "sparks",
    "metal-dust-rust",
    "metal-fire",
    "unknown-metal",
    "flammable-coolant",
    "mist",
    "dust-wood",
    "dust-composite",
    "plastic-fumes",
    "unattended",
    "electric",
    "conductive-chips",
    "estop",
    "restart",
    "rpm-limit",
]


@pytest.mark.parametrize(("kind", "name"), ROWS)
def test_row_loads_and_every_number_has_a_source(kind: str, name: str) -> None:
    sources = load_sources()
    lines = describe(kind, name)
    for line in lines:
        is_number = bool(re.match(r"[-X\d]", line.text)) and line.field not in ("name", "title", "aliases")
        if is_number:
            assert line.source in sources, line
            assert line.confidence, line
        if line.confidence == "published":
            assert sources[line.source].kind == "published", line


def test_counts() -> None:
    assert len(list_names("materials")) >= 32
    assert len(list_names("cutters")) >= 40
    assert len(list_names("machines")) >= 7


def test_promised_materials_are_there() -> None:
    assert set(WANTED_MATERIALS) <= set(list_names("materials"))


def test_promised_cutters_are_there() -> None:
    rows = [load_cutter(name) for name in list_names("cutters")]
    assert {row.kind for row in rows} == {
        "flat", "ball", "bull-nose", "vee", "engraving", "spot drill", "twist drill", "facing", "tapered ball",
    }  # fmt: skip
    assert {row.spiral for row in rows} == {"up", "down", "compression", "straight"}
    assert {row.material for row in rows} == {"carbide uncoated", "carbide coated", "hss"}
    flat = [row for row in rows if row.kind == "flat" and row.spiral == "up"]
    assert {row.flutes for row in flat} == {1, 2, 3, 4}
    assert {1.0, 2.0, 3.0, 3.175, 4.0, 6.0, 6.35, 8.0} <= {row.diameter_mm for row in flat}
    assert {row.included_angle_deg for row in rows if row.kind == "vee"} == {30.0, 60.0, 90.0}
    assert all(22 <= row.diameter_mm <= 25 and not row.centre_cutting for row in rows if row.kind == "facing")


def test_promised_machines_are_there() -> None:
    rows = [load_machine(name) for name in list_names("machines")]
    assert {row.drive for row in rows} == {"belt", "screw", "ball screw"}
    assert any(row.spindle.kind == "mill head" for row in rows)
    assert all(row.typical and row.stiffness_spread >= 1.5 for row in rows)
    assert all(len(row.spindle.dial) == 6 for row in rows if row.spindle.kind == "trim router")
    assert all(row.stiffness_n_um.z > row.stiffness_n_um.y for row in rows)


def test_weakest_and_stiffest_machine_differ_by_far() -> None:
    stiffness = [load_machine(name).stiffness_n_um.y for name in list_names("machines")]
    assert max(stiffness) / min(stiffness) > 10


def test_water_cooled_spindles_have_constant_torque() -> None:
    """Motor theory: power over speed is a straight line through the origin up to rated speed."""
    rows = [load_machine(name) for name in list_names("machines")]
    for row in (row for row in rows if row.spindle.kind == "water-cooled"):
        torque = {round(point.power_w / point.rpm, 4) for point in row.spindle.power}
        assert max(torque) / min(torque) < 1.02


@pytest.mark.parametrize("name", list_names("machines"))
def test_modes_follow_from_stiffness_and_the_stated_mass(name: str) -> None:
    """f = sqrt(k/m)/(2 pi), with the mass the row's own note states."""
    row = load_machine(name)
    found = re.search(r"moving mass of ([\d.]+) kg", " ".join(row.notes))
    assert found is not None
    for mode in row.modes:
        expected = (mode.stiffness_n_um * 1e6 / float(found[1])) ** 0.5 / (2 * 3.141592653589793)
        assert mode.frequency_hz == pytest.approx(expected, abs=0.06)


def materials() -> list[Material]:
    return [load_material(name) for name in list_names("materials")]


def test_materials_hold_together() -> None:
    for row in materials():
        for band in row.chip_load:
            assert row.min_chip_mm.value <= band.floor_mm, row.name
        assert row.finishing_deflection_mm.value <= row.roughing_deflection_mm.value, row.name
        assert row.finish_allowance_mm.low >= row.finishing_deflection_mm.value, row.name
        assert (row.iso_group is None) == (row.family not in ("aluminium", "copper alloy", "steel")), row.name
        assert row.cautions and "eyes" in row.cautions, row.name
        assert row.slot_depth_per_diameter.high <= row.side_depth_per_diameter.high, row.name


def test_iso_groups() -> None:
    assert {row.name: row.iso_group for row in materials() if row.family == "steel"} == {"steel-mild": "P"}
    assert {row.iso_group for row in materials() if row.family in ("aluminium", "copper alloy")} == {"N"}


def test_cautions_follow_the_material() -> None:
    for row in materials():
        if row.family == "aluminium":
            assert {"chips-sharp", "flammable-coolant", "conductive-chips", "metal-dust-rust"} <= set(
                row.cautions
            )
        if row.family in ("wood", "wood panel"):
            assert {"fire-wood", "dust-wood", "unattended"} <= set(row.cautions)
        if row.family == "plastic":
            assert "plastic-fumes" in row.cautions or row.name == "machinable-wax"
        if row.family == "laminate":
            assert row.cautions[0] == "dust-composite"
    assert load_material("al-unknown").cautions[0] == "unknown-metal"
    assert not load_material("al-unknown").grade_known
    assert load_material("steel-mild").suitability == "not recommended"


def test_caution_texts_are_complete_and_promise_nothing() -> None:
    cautions = load_cautions()
    assert set(cautions) == set(CAUTIONS)
    assert all(len(entry.text) > 40 for entry in cautions.values())
    assert not any(re.search(r"\bsafe\b", entry.text) for entry in cautions.values())


def test_aliases_lead_to_one_row_each() -> None:
    assert [alias_clashes(kind) for kind in KINDS] == [[], [], []]
    for kind in KINDS:
        rows, errors = summaries(kind)
        assert errors == []
        for row in rows:
            for alias in row.aliases:
                assert getattr(load_row(kind, alias.upper()), "name", "") == row.name


def test_every_source_is_used_or_meant_for_the_owner() -> None:
    used = {line.source for kind, name in ROWS for line in describe(kind, name)}
    used |= {
        band.source
        for row in load_drilling().values()
        for band in (row.hss_m_min, row.carbide_m_min, row.feed_per_diameter)
    }
    assert set(load_sources()) - used == {"own-measurement", "given-by-you"}


def test_readme_names_every_field() -> None:
    text = (data_root() / "README.md").read_text(encoding="utf-8")
    missing = [
        f"{model.__name__}.{name}"
        for model in [*_models(Material), *_models(Machine), *_models(type(load_cutter("flat-6mm-1f")))]
        for name in model.model_fields
        if f"`{name}`" not in text
    ]
    assert missing == []


def _models(model: type[Row]) -> list[type[Row]]:
    """A table model and every model inside it."""
    found: list[type[Row]] = [model]

    def visit(annotation: object) -> None:
        if isinstance(annotation, type) and issubclass(annotation, Row) and annotation not in found:
            found.append(annotation)
            for field in annotation.model_fields.values():
                visit(field.annotation)
        for inner in getattr(annotation, "__args__", ()):
            visit(inner)

    for field in model.model_fields.values():
        visit(field.annotation)
    return found


def test_rows_are_frozen() -> None:
    row = load_cutter("flat-6mm-1f")
    with pytest.raises(Exception, match="frozen"):
        row.flutes = 2  # type: ignore[misc]
