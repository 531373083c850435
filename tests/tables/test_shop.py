"""shop.yaml: found, read, names looked up, measured sizes put in."""

from __future__ import annotations

import pytest

from millcalc.errors import InputError, ManyErrors
from millcalc.tables import config_root, drawer, load_shop, shop_file
from tests.tables.conftest import Write

SHOP = """\
machine: gantry-800w
cutters:
  - flat-6mm-1f
  - {cutter: ball-1-8in-2f, diameter_mm: 3.15, note: reground}
  - cutter: flat-1-4in-2f
    diameter_mm: 0.248 in
materials: [6082, plywood-birch]
units: in
"""


def test_no_shop() -> None:
    assert load_shop() is None
    assert shop_file() is None


def test_shop_with_measured_cutters(put: Write) -> None:
    put("shop.yaml", SHOP)
    shop = load_shop()
    assert shop is not None
    assert (shop.machine, shop.units, len(shop.cutters)) == ("gantry-800w", "in", 3)
    first, ball, quarter = drawer(shop)
    assert first.name == "flat-6mm-1f"
    assert (ball.diameter_mm, ball.corner_radius_mm, ball.notes[-1]) == (3.15, 1.575, "reground")
    assert quarter.diameter_mm == pytest.approx(6.2992)


def test_settings_folder_is_second(put: Write) -> None:
    config_root().mkdir(parents=True)
    (config_root() / "shop.yaml").write_text("machine: gantry-2200w\n", encoding="utf-8")
    shop = load_shop()
    assert shop is not None and shop.machine == "gantry-2200w"
    put("shop.yaml", SHOP)
    shop = load_shop()
    assert shop is not None and shop.machine == "gantry-800w"


def test_names_are_looked_up_at_their_lines(put: Write) -> None:
    put("shop.yaml", "machine: gantry-801w\ncutters:\n  - flat-6mm-1f\n  - flat-66mm-1f\nmaterials: [oka]\n")
    with pytest.raises(ManyErrors) as caught:
        load_shop()
    assert [(e.line, e.field) for e in caught.value.errors] == [
        (1, "machine"), (4, "cutters[2]"), (5, "materials[1]"),
    ]  # fmt: skip
    assert "gantry-800w" in caught.value.errors[0].accepted


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("cutters: []\n", "machine"),
        (
            "machine: gantry-800w\ncutters:\n  - {cutter: flat-6mm-1f, diameter_mm: -1}\n",
            "cutters[1].diameter_mm",
        ),
        ("machine: gantry-800w\ncutters:\n  - {cuter: flat-6mm-1f}\n", "cutters[1].cuter"),
        ("machine: gantry-800w\ncutters: flat-6mm-1f\n", "cutters"),
        ("machine: gantry-800w\nunits: feet\n", "units"),
        (
            "machine: gantry-800w\ncutters:\n  - {cutter: flat-6mm-1f, diameter_mm: big}\n",
            "cutters[1].diameter_mm",
        ),
    ],
)
def test_faults(put: Write, text: str, field: str) -> None:
    put("shop.yaml", text)
    with pytest.raises(InputError) as caught:
        load_shop()
    problem = caught.value
    errors = problem.errors if isinstance(problem, ManyErrors) else (problem,)
    assert field in [error.field for error in errors]
    assert all(error.accepted != "text" for error in errors)
