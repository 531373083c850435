"""Pinned: the settings of many ordinary cuts. Our own numbers; they catch change only, and say nothing about right.

Each was looked at when it was pinned. After a change that is meant, run ``python -m tests.pinned.test_settings_table``,
read every line that differs, and only then keep the new file.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml

from millcalc.advise.advice import advise
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.tables import load_cutter, load_machine, load_material

FILE = Path(__file__).with_name("settings.yaml")
MACHINES = ("screw-desktop-300w", "gantry-800w")
MATERIALS = ("al-6061-t6", "steel-mild", "g10-fr4", "acrylic-cast", "mdf", "hardwood-dense")
CUTTERS = {"flat-1mm-2f": "slot side", "flat-1-8in-1f": "slot side face", "flat-6mm-2f": "slot side face plunge",
           "facing-22mm-3f": "face", "drill-3mm-hss": "drill"}  # fmt: skip


def line(machine: str, material: str, cutter: str, cut: str) -> str:
    """Speed, feed, depth, width and what holds the depth; or why not."""
    try:
        tooling = make_tooling(load_machine(machine), load_material(material), load_cutter(cutter))
    except InputError as error:
        return f"no: {error.accepted}"
    got = advise(tooling, CutRequest(cut), buys=False)  # type: ignore[arg-type]
    s, held = got.settings, got.holds.get("depth", got.limits[0].key)
    text = f"S{s.speed_rpm:g} F{s.feed_mm_min:g} ap {s.axial_depth_mm:g} ae {s.radial_width_mm:g} {held}"
    return text if got.fits else f"{text}, does not fit: {got.limits[0].key}"


CASES = [
    (machine, material, cutter, cut)
    for machine in MACHINES for material in MATERIALS for cutter, cuts in CUTTERS.items() for cut in cuts.split()
]  # fmt: skip


@pytest.mark.parametrize("machine", MACHINES)
def test_the_settings_are_those_that_were_looked_at(machine: str) -> None:
    kept = yaml.safe_load(FILE.read_text(encoding="utf-8"))
    asked = [case for case in CASES if case[0] == machine]
    asked = asked if os.environ.get("MILLCALC_ALL") else asked[::2]  # every cut, in every second material
    assert len({case[2:] for case in asked}) == sum(len(cuts.split()) for cuts in CUTTERS.values())
    assert not {case: found for case in asked if (found := line(*case)) != kept[" ".join(case)]}


if __name__ == "__main__":
    table = {" ".join(case): line(*case) for case in CASES}
    FILE.write_text(yaml.safe_dump(table, sort_keys=False, width=200), encoding="utf-8", newline="\n")
