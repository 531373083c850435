"""Print one line a setting, to be read by eye: ``python -m tests.practice.settings [PART ...]``.

16 materials, 8 milling cutters and 4 drills, every shipped machine; slot, side, face and drill. Each PART must stand in
the line's head. Shown: speed, cutting speed, feed, chip, depth and width with their shares of the diameter, what holds
the depth, and the removal; or the refusal in the words that the person reads.
"""

from __future__ import annotations

import math
import sys

from millcalc.advise.advice import advise
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.tables import list_names, load_cutter, load_machine, load_material

MATERIALS = ("al-6061-t6", "al-6082-t6", "al-7075-t6", "al-cast-plate", "brass-free-machining", "steel-mild", "g10-fr4",
             "acrylic-cast", "hdpe", "polycarbonate", "plywood-birch", "plywood-softwood", "mdf",
             "hardwood-dense", "softwood", "bamboo")  # fmt: skip
CUTTERS = {
    "flat-1mm-2f": "slot side face", "flat-2mm-1f": "slot side face", "flat-1-8in-1f": "slot side face",
    "flat-1-8in-2f": "slot side face", "flat-6mm-1f": "slot side face", "flat-6mm-2f": "slot side face",
    "flat-8mm-2f": "slot side face", "facing-22mm-3f": "face", "drill-1mm-carbide": "drill",
    "drill-3mm-hss": "drill", "drill-3mm-carbide": "drill", "drill-6mm-hss": "drill",
}  # fmt: skip


def line(machine: str, material: str, cutter: str, cut: str) -> str:
    """One setting, or why there is none."""
    try:
        tooling = make_tooling(load_machine(machine), load_material(material), load_cutter(cutter))
    except InputError as error:
        return f"NO: {error.accepted}"
    got = advise(tooling, CutRequest(cut), buys=False)  # type: ignore[arg-type]
    s, diameter = got.settings, tooling.cutter.diameter_mm
    speed = math.pi * diameter * s.speed_rpm / 1000.0
    shares = f"ap {s.axial_depth_mm:g} ({s.axial_depth_mm / diameter:.2f} D)"
    if cut == "drill":
        turn = s.feed_mm_min / s.speed_rpm
        shares += f" {turn:.3f} mm a turn ({turn / diameter:.3f} D)"
    else:
        shares += f" ae {s.radial_width_mm:g} ({s.radial_width_mm / diameter:.2f} D)"
    held = got.holds.get("depth", got.limits[0].key)
    text = f"S{s.speed_rpm:g} vc {speed:.0f} F{s.feed_mm_min:g} fz {s.feed_per_tooth_mm:.4f} {shares} {held}"
    return f"{text} Q {got.removal_cm3_min:.2f}" if got.fits else f"NO: {got.notes[0]} | {text}"


if __name__ == "__main__":
    for material in MATERIALS:
        for cutter, cuts in CUTTERS.items():
            for cut in cuts.split():
                for machine in list_names("machines"):
                    head = f"{material} {cutter} {cut} {machine}"
                    if all(part in head for part in sys.argv[1:]):
                        print(f"{head}: {line(machine, material, cutter, cut)}", flush=True)
