"""Pinned: every limit's demand, limit, budget and chance at some settings, and what is reckoned from the tools.

Our own numbers; they catch change only. After a change that is meant, run ``python -m tests.pinned.test_limits_table``,
read every number that differs, and only then keep the new file.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from millcalc.advise.solve import _liking
from millcalc.limits import depths, odds
from millcalc.limits.build import make_tooling
from millcalc.limits.chances import chances
from millcalc.limits.draws import Draws, pocket_gain, runout_factor
from millcalc.limits.entries import ramp_angle_deg, slot_feed_mm_min
from millcalc.limits.hole import HoleState
from millcalc.limits.judge import deepest_mm
from millcalc.limits.plunge import plunge_feed_mm_min, pushed_mm_min
from millcalc.limits.request import CutRequest
from millcalc.limits.speeds import reached_mm_min
from millcalc.limits.spread import bending_shares, spreads_of
from millcalc.limits.state import State
from millcalc.limits.table import limits_of, worst_use
from millcalc.limits.tooling import FailedCut, Margins, Tooling, core_diameter_mm
from millcalc.tables import load_cutter, load_machine, load_material

FILE = Path(__file__).with_name("limits.json")
TAUGHT = Margins(0.8, 0.9, 0.7, 1.2, 1.1, 0.9, "taught", failed=(FailedCut("side", 2.0, 3.0),))
# machine, material, cutter, what is asked, speed [rev/min], chip [mm], depth and width [mm], how it is put together
CUTS: dict[str, tuple[str, str, str, dict[str, Any], float, float, float, float, dict[str, Any]]] = {
    "slot": ("gantry-800w", "al-6082-t6", "flat-6mm-2f", {"cut": "slot"}, 12000, 0.03, 1.0, 6.0, {"drop_mm": 130.0}),
    "side": ("gantry-800w", "hardwood-dense", "flat-6mm-2f-straight", {"cut": "side", "segment_mm": 2.0},
             18000, 0.05, 6.0, 2.5, {"stickout_mm": 30.0, "roughing_mm": 0.02}),
    "nearly a slot": ("screw-desktop-300w", "g10-fr4", "flat-3mm-2f", {"cut": "side", "proven": True},
                      9000, 0.02, 2.0, 2.7, {"margins": TAUGHT, "speed_set_by": "fixed"}),
    "what failed": ("gantry-1500w", "acrylic-cast", "flat-4mm-1f", {"cut": "side"}, 15000, 0.06, 3.0, 3.5,
                    {"margins": TAUGHT}),
    "finish": ("gantry-2200w", "steel-mild", "flat-8mm-4f", {"cut": "side", "finish": True},
               2400, 0.02, 4.0, 0.3, {"finishing_mm": 0.01}),
    "face": ("bench-mill-small", "al-cast-plate", "facing-22mm-3f", {"cut": "face"}, 2500, 0.04, 0.4, 16.0, {}),
    "ball": ("belt-small-trim-router", "hardwood-medium", "ball-4mm-2f", {"cut": "slot"}, 16000, 0.04, 0.7, 4.0, {}),
    "bull": ("gantry-1500w", "brass-free-machining", "bull-6mm-2f-r0.5", {"cut": "side"}, 10000, 0.03, 0.3, 2.0, {}),
    "vee": ("screw-gantry-trim-router", "plywood-birch", "vee-60-6mm", {"cut": "slot"}, 20000, 0.03, 2.0, 6.0, {}),
    "tapered": ("screw-desktop-300w", "pu-foam-450", "tapered-ball-r0.5", {"cut": "side"}, 12000, 0.03, 1.5, 0.5, {}),
    "hss": ("bench-mill-small", "al-6061-t6", "flat-6mm-2f-hss", {"cut": "slot", "proven": True},
            2800, 0.03, 1.0, 6.0, {}),
    "tapped": ("gantry-800w", "al-6082-t6", "flat-6mm-2f", {"cut": "side", "proven": True},
               15000, 0.03, 2.0, 3.0, {"tapped_hz": 900.0}),
    "drill": ("bench-mill-small", "steel-mild", "drill-5mm-hss", {"cut": "drill"}, 1500, 0.03, 4.0, 5.0, {}),
    "drill of 3 mm": ("bench-mill-small", "al-6061-t6", "drill-3mm-hss", {"cut": "drill"}, 3000, 0.03, 2.0, 3.0, {}),
    "engraving": ("gantry-800w", "al-6082-t6", "engraving-60-0.2mm", {"cut": "slot"}, 18000, 0.01, 0.1, 0.2, {}),
    "drill in wood": ("gantry-800w", "mdf", "drill-3mm-carbide", {"cut": "drill", "proven": True},
                      8000, 0.05, 4.0, 3.0, {}),
    "plunge": ("gantry-800w", "al-6082-t6", "flat-2mm-2f", {"cut": "plunge"}, 16000, 0.004, 0.5, 2.0, {}),
    "plunge, thick": ("screw-desktop-300w", "copper", "flat-4mm-3f", {"cut": "plunge"}, 9000, 0.005, 0.5, 4.0, {}),
}  # fmt: skip


def tooling_of(name: str) -> Tooling:
    machine, material, cutter, _, _, _, _, _, how = CUTS[name]
    table, how = load_machine(machine), dict(how)
    if hz := how.pop("tapped_hz", None):
        new = {"name": "cutter flat-6mm-2f", "frequency_hz": hz, "damping_ratio": 0.04}
        table = table.model_copy(update={"modes": (*table.modes, table.modes[0].model_copy(update=new))})
    return make_tooling(table, load_material(material), load_cutter(cutter), **how)


def plain(value: Any) -> Any:
    """Numbers with six digits, texts as they are."""
    if isinstance(value, str | bool) or value is None:
        return value
    if isinstance(value, tuple | list):
        return [plain(one) for one in value]
    if np.ndim(value) and np.size(value) > 1:
        return [plain(one) for one in value]
    return float(f"{float(np.asarray(value).ravel()[0]):.6g}")


def numbers(name: str) -> dict[str, Any]:
    """All numbers of one cut."""
    _, _, _, asked, rpm, chip, depth, width, _ = CUTS[name]
    tooling, request = tooling_of(name), CutRequest(**asked)
    hole = request.cut in ("drill", "plunge")
    state = (HoleState if hole else State)(tooling, request, np.array([rpm]), chip, depth, width)
    found: dict[str, Any] = {"worst": worst_use(state)}
    for limit in limits_of(state):
        need = limit.function(state)
        found[limit.key] = (need.demand, need.limit, limit.budget(request, tooling), bool(limit.binds(state)))
    sampled = chances(state, 2000)
    found["chances"] = (sampled.together, *sampled.by_key.values(), *sampled.deflection_mm)
    found["spreads"] = tuple(
        getattr(spreads_of(tooling), key) for key in spreads_of(tooling).__dataclass_fields__
    )
    found["band"], found["room"] = state.chip_band_mm, state.chip_room[0]
    found["power"], found["push"] = [state.power_w(k) for k in range(3)], [state.push_n(k) for k in range(3)]
    found["bends"] = [state.deflection_mm(k) for k in range(3)]
    if not hole:
        loads = state.loads(1)
        found["loads"] = (loads.peak_n, loads.mean_n, loads.axial_n, loads.tangential_n)
        found["chips"] = (state.max_chip_mm, state.mean_chip_mm, state.engagement_rad, state.load_height_mm)
        bends = bending_shares(tooling, rpm, float(np.ravel(state.engagement_rad)[0]), chip, depth)
        found["shares"] = (bends.frame, bends.spindle, bends.cutter)
        away = np.array([-1.5, -0.5, 0.5, 1.5])
        found["run-out"], found["pocket"] = runout_factor(state, away), pocket_gain(state, away)
        howls = odds.chatter(Draws(state, 500, 7), depths.chatter(state))
        found["howls"] = np.quantile(howls, [0.1, 0.5, 0.9])
        found["liking"] = [
            _liking(State(tooling, request, n, chip, depth, width), 2.0 * rpm) for n in (rpm, 1.5 * rpm)
        ]
        found["reached"] = reached_mm_min(state)
        found["section"] = tooling.section_mm2(depth, width)
    found["springs"] = (tooling.cutter_um_n, tooling.spindle_um_n, tooling.frame_axis_um_n("x"), tooling.frame_um_n,
                        tooling.total_um_n, tooling.frame_mode_hz, core_diameter_mm(tooling.cutter))  # fmt: skip
    found["tool"] = (tooling.stickout_mm, tooling.smallest_chip_mm, tooling.chip_diameter_mm,
                     tooling.effective_diameter_mm(depth), tooling.lowest_rpm, tooling.highest_rpm,
                     tooling.available_power_w(rpm))  # fmt: skip
    found["down"] = (plunge_feed_mm_min(tooling, rpm, proven=False), plunge_feed_mm_min(tooling, rpm, proven=True),
                     pushed_mm_min(tooling, rpm, 1e5, proven=True))  # fmt: skip
    if request.cut not in ("drill", "face"):
        feeds = [slot_feed_mm_min(tooling, rpm, proven) for proven in (False, True)]
        found["ways in"] = (ramp_angle_deg(tooling), *feeds)
        found["deepest"] = deepest_mm(tooling, rpm, 500.0)
    return {key: plain(value) for key, value in found.items()}


@pytest.mark.parametrize("name", CUTS)
def test_every_number_is_the_one_that_was_looked_at(name: str) -> None:
    kept = json.loads(FILE.read_text(encoding="utf-8"))[name]
    found = numbers(name)
    assert set(found) == set(kept)
    changed = {
        key: (found[key], kept[key]) for key in found if found[key] != pytest.approx(kept[key], rel=1e-4)
    }
    assert not changed


if __name__ == "__main__":
    rows = []
    for name in CUTS:
        parts = [f"  {json.dumps(key)}: {json.dumps(value)}" for key, value in numbers(name).items()]
        rows.append(f" {json.dumps(name)}: {{\n" + ",\n".join(parts) + "\n }")
    FILE.write_text("{\n" + ",\n".join(rows) + "\n}\n", encoding="utf-8", newline="\n")
