"""Random cutters, materials, machines and cuts, asked through settings, limits and check: one answer each.

``python -m tests.properties.one_voice 2000`` runs many and prints what broke; the suite runs a few.
"""

from __future__ import annotations

import random
import re
import sys
from collections import Counter
from dataclasses import replace

import yaml

from millcalc.advise.advice import advise
from millcalc.advise.result import Advice
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.errors import InputError
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.preflight import run_rules
from millcalc.report.settings_rows import settings_rows
from millcalc.tables import list_names, load_cutter, load_machine, load_material
from millcalc.units import System, feed_mm_min, length_mm

MACHINES, MATERIALS, CUTTERS = (tuple(list_names(kind)) for kind in ("machines", "materials", "cutters"))
JUDGED = ("FEED-02", "FEED-03", "FEED-04", "DEPTH-01", "FORCE-01", "FORCE-02", "FORCE-03", "FORCE-04", "FORCE-10",
          "PLUNGE-01", "SPIN-08", "HOLDER-04")  # fmt: skip
PATH_MM = 100.0  # of the slot, and between corners
MARGIN = 1.10  # of a jump without a reason; rounding a small depth or feed to a settable step comes on top
STEP_MM = 0.05  # depth step a person sets, at most
FINE_STEP_MM = 0.01  # the same below 0.5 mm
THOU_MM = 0.0254  # the step of depth and width in inches


def case(number: int) -> tuple[Tooling, CutRequest] | None:
    """A random tooling and request; None where the tables refuse it."""
    rng = random.Random(number)
    cutter, machine = load_cutter(rng.choice(CUTTERS)), load_machine(rng.choice(MACHINES))
    cut = rng.choice(("slot", "slot", "side", "face"))
    if "drill" in cutter.kind or cutter.shank_mm > machine.spindle.largest_shank_mm:
        return None
    try:
        tooling = make_tooling(
            machine,
            load_material(rng.choice(MATERIALS)),
            cutter,
            drop_mm=machine.drop_mm * rng.uniform(0.7, 1.3),
        )
    except InputError:
        return None
    request = CutRequest(cut, segment_mm=PATH_MM, proven=rng.random() < 0.25)  # type: ignore[arg-type]
    if rng.random() < 0.3 and cut != "slot":
        request = replace(request, radial_width_mm=cutter.diameter_mm * rng.choice((0.1, 0.25, 0.5)))
    return tooling, request


def step(depth_mm: float) -> float:
    """How much rounding to a settable step may change a depth, as a factor [-]."""
    return 1.0 + (STEP_MM if depth_mm >= 0.5 else FINE_STEP_MM) / depth_mm


def judged(tooling: Tooling, request: CutRequest, answer: Advice) -> str:
    """Settings' own values, given back: they hold, and every limit says the same."""
    s = answer.settings
    again = advise(
        tooling,
        replace(
            request,
            axial_depth_mm=s.axial_depth_mm,
            radial_width_mm=None if request.cut == "slot" else s.radial_width_mm,
            feed_mm_min=s.feed_mm_min,
            speed_rpm=s.speed_rpm,
        ),
        buys=False,
    )
    if not again.fits:
        return f"own values over {again.limits[0].title} by {again.limits[0].used:.3f}"
    first, second = ({limit.key: limit.used for limit in one.limits} for one in (answer, again))
    off = [key for key in first if abs(first[key] - second[key]) > 1e-6]
    return f"{', '.join(off)} judged otherwise when given" if off else ""


def checked(tooling: Tooling, request: CutRequest, answer: Advice, times: float) -> set[str]:
    """Codes on feeds and depth of a slot written from the advice, cut in from the open edge, and of its plunge."""
    s, cutter = answer.settings, tooling.cutter
    depth = s.axial_depth_mm * times
    job = {
        "machine": tooling.machine.name,
        "material": tooling.material.name,
        "proven": request.proven,
        "stock": {"size_x": "80 mm", "size_y": "60 mm", "thickness": f"{max(20.0, 2 * depth):.1f} mm"},
        "zero": {"xy": "front-left", "z": "stock top", "work_offset": "G54"},
        "bed": {"drop": f"{tooling.drop_mm} mm"},
        "cutters": {"T1": {"cutter": cutter.name, "stickout": f"{tooling.stickout_mm} mm"}},
        "spindle": {"rpm": s.speed_rpm} if tooling.uses_dial else {},
    }
    if not job["spindle"]:
        del job["spindle"]
    lines = ["G21 G90 G17 G94 G54", f"S{s.speed_rpm:.0f} M3", "G4 P10", "G0 Z10", "G0 X-10 Y30",
             f"G0 Z-{depth:.4f}", f"G1 X90 F{s.feed_mm_min:.3f}", "G0 Z10"]  # fmt: skip
    if s.plunge_allowed and times == 1.0:
        lines += ["G0 X40 Y50", "G0 Z0.5"]
        lines += [f"G1 Z-{min(depth, 0.2 * cutter.diameter_mm):.4f} F{s.plunge_feed_mm_min:.3f}", "G0 Z10"]
    text = "\n".join([*lines, "M5", "M30", ""])
    setup = build_setup(parse_job(yaml.safe_dump(job)))
    found = run_rules(make_context(text.encode(), "slot.nc", setup, CheckOptions(simulate=False)))
    return {
        f.code
        for f in found.findings
        if f.code in JUDGED
        and not (f.code == "FEED-04" and f.severity.word == "note")
        and not (
            f.code == "SPIN-08" and "far below" in f.fact
        )  # slower than the band: the feed or dial asks for it
    }


def told(answer: Advice) -> tuple[object, ...]:
    """What the output names as the reason of its numbers."""
    s = answer.settings
    return (
        answer.fits,
        answer.governing.key,
        tuple(answer.holds.items()),
        s.speed_rpm,
        round(s.radial_width_mm, 6),
    )


def swept(tooling: Tooling, request: CutRequest, answer: Advice) -> str:
    """A drop 2 % larger: no jump beyond a tenth and a settable step, or another reason is named."""
    other = advise(tooling.with_changes(drop_mm=1.02 * tooling.drop_mm), request, buys=False)
    ratio = answer.removal_cm3_min / other.removal_cm3_min
    allowed = MARGIN * step(other.settings.axial_depth_mm)
    if 1 / allowed <= ratio <= allowed or told(answer) != told(other):
        return ""
    return f"drop 2 % longer: removal {answer.removal_cm3_min:.3g} -> {other.removal_cm3_min:.3g} without a reason"


def stiffer(tooling: Tooling, request: CutRequest, answer: Advice) -> str:
    """A frame half as stiff again never removes less."""
    axes = tooling.machine.stiffness_n_um
    strong = axes.model_copy(update={axis: 1.5 * getattr(axes, axis) for axis in "xyz"})
    machine = tooling.machine.model_copy(update={"stiffness_n_um": strong})
    other = advise(tooling.with_changes(machine=machine), request, buys=False)
    least = answer.removal_cm3_min / step(other.settings.axial_depth_mm) / 1.03
    if answer.fits and (not other.fits or other.removal_cm3_min < least):
        return f"stiffer: removal {answer.removal_cm3_min:.3g} -> {other.removal_cm3_min:.3g}"
    return ""


def inches(tooling: Tooling, request: CutRequest, answer: Advice) -> str:
    """The answer in inches is the one in millimetres, but for the steps that are set."""
    other = advise(tooling, request, units="in", buys=False)
    depth = answer.settings.axial_depth_mm
    width = answer.settings.radial_width_mm
    allowed = MARGIN * step(depth) * (1.05 + THOU_MM / depth + 2 * THOU_MM / width)
    if other.fits == answer.fits and 1 / allowed <= other.removal_cm3_min / answer.removal_cm3_min <= allowed:
        return ""
    return f"inches remove {other.removal_cm3_min:.3g}, millimetres {answer.removal_cm3_min:.3g}"


def printed(tooling: Tooling, request: CutRequest, answer: Advice, system: System) -> str:
    """Settings as they are printed, typed back in: they hold. A width is shown to its own step, so it is not typed."""
    rows = {row.name: row.value for row in settings_rows(answer, system)}
    feed, depth = feed_mm_min(rows["feed"]), length_mm(rows["depth a pass (ap)"])
    given = replace(request, feed_mm_min=feed, axial_depth_mm=depth, speed_rpm=answer.settings.speed_rpm)
    if request.cut != "slot":
        given = replace(given, radial_width_mm=answer.settings.radial_width_mm)
    again = advise(tooling, given, buys=False)
    if answer.fits and not again.fits:
        return f"printed {rows['feed']}, {rows['depth a pass (ap)']}: over {again.limits[0].title}"
    ramp = re.search(
        r"at (.*) along the ramp",
        next(row.remark for row in settings_rows(answer, system) if row.name == "ramp in"),
    )
    told = feed_mm_min(ramp[1]) if ramp else 0.0
    if abs(told - answer.settings.ramp_feed_mm_min) > 1e-6 * told:
        return f"ramp printed as {told:.6g}, meant as {answer.settings.ramp_feed_mm_min:.6g} mm/min"
    return ""


def broken(number: int) -> list[str]:
    """What one case breaks, in words; empty where all voices agree or the case is refused."""
    made = case(number)
    if made is None:
        return []
    tooling, request = made
    answer = advise(tooling, request, buys=False)
    if not answer.fits:
        return []
    found = [judged(tooling, request, answer), swept(tooling, request, answer), stiffer(tooling, request, answer),
             inches(tooling, request, answer), printed(tooling, request, answer, "mm"),
             printed(tooling, request, advise(tooling, request, units="in", buys=False), "in")]  # fmt: skip
    if request.cut == "slot" and tooling.cutter.kind == "flat":
        codes = checked(tooling, request, answer, 1.0)
        found.append(f"the program of the advice gets {', '.join(sorted(codes))}" if codes else "")
        used = max(limit.used for limit in answer.limits if limit.key in ("deflection", "chip-room", "spindle-power",
                                                                         "spindle-torque", "axis-thrust"))  # fmt: skip
        if used > 0.6 and not checked(tooling, request, answer, 2.0):
            found.append("twice the depth gets no finding")
    title = f"{number} {tooling.machine.name} {tooling.material.name} {tooling.cutter.name} {request.cut}"
    return [f"{title}{' proven' if request.proven else ''}: {text}" for text in found if text]


def main() -> None:
    """Run many cases and print what broke, and how often each kind did."""
    count, start = int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 0
    kinds: Counter[str] = Counter()
    asked = 0
    for number in range(start, start + count):
        made = case(number)
        asked += made is not None
        for text in broken(number):
            print(text, flush=True)
            kinds[text.split(": ", 1)[1][:24]] += 1
    print(f"{count} cases, {asked} that the tables allow; broken: {sum(kinds.values())} {dict(kinds)}")


if __name__ == "__main__":
    main()
