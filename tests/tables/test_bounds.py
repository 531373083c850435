"""A number that no cutter, machine or material has is refused at its field; exact bounds of our own (pinned)."""

from __future__ import annotations

import pytest

from millcalc.errors import InputError
from millcalc.tables import load_cutter, load_machine, load_material
from tests.tables.conftest import Write


@pytest.mark.parametrize(
    ("kind", "line", "said"),
    [
        ("cutters", "diameter_mm: 1.0e+308", "diameter_mm: found 1e+308; accepted: from 0.02 to 1000 mm"),
        ("cutters", "shank_mm: 0.01", "shank_mm: found 0.01; accepted: from 0.2 to 200 mm"),
        ("materials", "density_kg_m3: {value: 99999, source: own-measurement, confidence: measured}",
         "density_kg_m3.value: found 99999; accepted: from 1 to 30000 kg/m3"),
        ("materials", "kc11_n_mm2: {value: 5.0e-324, source: own-measurement, confidence: measured}",
         "kc11_n_mm2.value: found 5e-324; accepted: from 0.01 to 100000 N/mm2"),
        ("machines", "max_feed_mm_min: {x: 5.0e-324, source: own-measurement, confidence: measured}",
         "max_feed_mm_min.x: found 5e-324; accepted: from 1 to 1e+06 mm/min"),
    ],
)  # fmt: skip
def test_a_number_beyond_its_field_is_refused_there(put: Write, kind: str, line: str, said: str) -> None:
    base = {"cutters": "flat-6mm-1f", "machines": "gantry-800w", "materials": "al-6082-t6"}[kind]
    put(f"materials/{kind}/odd.yaml", f"based_on: {base}\ntitle: Odd\n{line}\n")
    load = {"cutters": load_cutter, "machines": load_machine, "materials": load_material}[kind]
    with pytest.raises(InputError) as caught:
        load("odd")
    assert said in str(caught.value)


def test_the_bound_itself_is_read(put: Write) -> None:
    put(
        "materials/cutters/odd.yaml",
        "based_on: flat-6mm-1f\ntitle: Odd\nshank_mm: 0.2\nsource: own-measurement\nconfidence: measured\n",
    )
    assert load_cutter("odd").shank_mm == 0.2
