"""Turns what the rules found into the result model."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc import __version__
from millcalc.check.cautions import FOOTER, caution_keys
from millcalc.check.checklist import checklist
from millcalc.check.learned import learned_out
from millcalc.check.model import (
    BlockOut,
    CheckReport,
    Clearance,
    CutFacts,
    Extents,
    FindingOut,
    LimitUse,
    Mark,
    Moment,
    NotCheckedOut,
    Place,
    ProgramFacts,
    QuietedOut,
    SetupFacts,
    Times,
    ToolUse,
)
from millcalc.check.timeline import make_timeline
from millcalc.check.watch import watch_list
from millcalc.findings import Finding
from millcalc.preflight import all_rules, tuning
from millcalc.preflight.blocks import Block
from millcalc.preflight.clearances import Gap, clearances
from millcalc.preflight.context import Context
from millcalc.preflight.geometry import point_on_motion, reach_mm
from millcalc.preflight.hold_balance import balance_words
from millcalc.preflight.hold_kinds import hold_words
from millcalc.preflight.run import Outcome
from millcalc.preflight.uses import cut_uses, judged_share

TEXT_SHOWN = 160  # characters of a program line that are kept
CAUTIONS_SHOWN = 6


def build_report(ctx: Context, outcome: Outcome) -> CheckReport:
    """Build the report of a check.

    ctx: Program, set-up and simulated cut.
    outcome: What the rules found.
    Returns: The result model.
    """
    titles, learned = _titles(), learned_out(ctx, outcome)
    return CheckReport(
        millcalc=__version__,
        shown_units=ctx.units,
        program=_program(ctx),
        setup=_setup(ctx, learned.line() if learned else ""),
        learned=learned,
        cut=_cut(ctx),
        findings=tuple(_finding(ctx, f, titles) for f in outcome.findings),
        blocks=tuple(_block(block) for block in outcome.blocks),
        not_checked=tuple(
            NotCheckedOut(code=n.code, what=n.what, because=n.because, fields=n.fields)
            for n in outcome.not_checked
        ),
        quieted=tuple(
            QuietedOut(
                finding=_finding(ctx, q.finding, titles),
                reason=q.acceptance.reason,
                origin=q.acceptance.origin,
            )
            for q in outcome.quieted
        ),
        unused_acceptances=tuple(f"{a.code} ({a.origin})" for a in outcome.idle),
        checked=outcome.checked,
        failed=outcome.failed,
        clearances=_clearances(ctx),
        times=_times(ctx),
        checklist=checklist(ctx),
        cautions=_cautions(ctx),
        footer=FOOTER,
    )


def _block(block: Block) -> BlockOut:
    numbers = {}
    if block.cut is not None:
        numbers = {"passes": block.cut.passes, "depth_mm": _number(block.cut.depth_mm or None)}
        numbers["feed_mm_min"] = _number(block.cut.feed_mm_min)
    return BlockOut(kind=block.kind, findings=block.findings, remedy=block.remedy, **numbers)


def _titles() -> dict[str, str]:
    from millcalc.gcode.codes import CODES

    titles = {code: doc.title for code, doc in CODES.items()}
    titles.update({rule.code: rule.title for rule in all_rules()})
    titles["QUIET-01"] = "acceptance not understood"
    return titles


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(float(value), 6)


def _place(point: tuple[float, float, float] | None) -> Place | None:
    if point is None or not all(math.isfinite(v) for v in point):
        return None
    return Place(x=round(point[0], 4), y=round(point[1], 4), z=round(point[2], 4))


def _moment(ctx: Context, finding: Finding) -> Moment | None:
    """When a finding happens; None for one that belongs to no motion."""
    if finding.motion is None or not 0 <= finding.motion < len(ctx.program.motions):
        return None
    share = 1.0 if finding.share is None else finding.share
    timeline = make_timeline(ctx)
    seconds = timeline is not None and timeline.unit == "s"
    return Moment(
        motion=finding.motion,
        share=round(share, 6),
        time_s=round(timeline.moment_of(finding.motion, share), 3)
        if timeline is not None and seconds
        else None,
        tip_mm=_place(point_on_motion(ctx.program.motions, finding.motion, share)),
    )


def _finding(ctx: Context, finding: Finding, titles: dict[str, str]) -> FindingOut:
    program = ctx.program
    marks = []
    spans = list(finding.spans[:3])
    first_line = finding.line
    if finding.count > 1 and len(spans) > 1 and spans[-1].start == 0 and spans[-1].line < spans[0].line:
        first_line = spans.pop().line
    for span in spans:
        text = program.line_text(span.line)[:TEXT_SHOWN] if 1 <= span.line <= program.lines else ""
        marks.append(Mark(line=span.line, start=span.start, end=span.end, text=text))
    return FindingOut(
        code=finding.code,
        severity=finding.severity.word,
        title=titles.get(finding.code, ""),
        fact=finding.fact,
        action=finding.action,
        why=finding.why,
        source=finding.source,
        line=finding.line,
        first_line=first_line,
        last_line=finding.last_line,
        count=finding.count,
        marks=tuple(marks),
        place_mm=_place(finding.place_mm),
        at=_moment(ctx, finding),
        measured=_number(finding.measured),
        limit=_number(finding.limit),
        unit=finding.unit,
        tool=finding.tool,
        found=finding.found,
        expected=finding.expected,
    )


def _program(ctx: Context) -> ProgramFacts:
    program, facts = ctx.program, ctx.facts
    feed = facts.feed
    extents = None
    if feed.any():
        bottom, top = reach_mm(program.motions, np.flatnonzero(feed))
        first = _place((float(bottom[0]), float(bottom[1]), float(bottom[2])))
        last = _place((float(top[0]), float(top[1]), float(top[2])))
        if first and last:
            extents = Extents(low=first, high=last)
    return ProgramFacts(
        name=program.name,
        lines=program.lines,
        size_bytes=len(program.data),
        sha256=program.sha256,
        motions=len(program.motions),
        complete=program.complete,
        units=tuple(sorted(program.units_seen)),
        profile=program.profile,
        extents=extents,
        tools=tuple(_tool(ctx, tool) for tool in facts.tools),
    )


def _tool(ctx: Context, tool: int) -> ToolUse:
    facts = ctx.facts
    rows = np.flatnonzero(facts.cutting & (facts.tool == tool))
    fitted = facts.fitted(tool)
    deepest = float(np.nanmin(facts.z_low[rows])) if len(rows) else None
    return ToolUse(
        number=tool if tool >= 0 else None,
        cutter=fitted.cutter.title if fitted else None,
        diameter_mm=fitted.cutter.diameter_mm if fitted else None,
        cut_length_mm=round(float(np.nansum(facts.motions.length_mm[rows])), 3),
        deepest_mm=_number(deepest),
        speeds_rpm=tuple(_distinct(facts.rpm, rows, 8)),
        feeds_mm_min=tuple(round(v, 3) for v in _distinct(facts.feed_mm_min, rows, 12)),
        cutter_name=fitted.cutter.name if fitted else None,
        flutes=fitted.cutter.flutes if fitted else None,
        stickout_mm=fitted.stickout_mm if fitted else None,
        **_hardest(ctx, tool),
    )


def _distinct(column: NDArray[np.float64], rows: NDArray[np.intp], most: int) -> list[float]:
    """The least distinct finite values of some rows, looked at in stretches for their memory."""
    found = np.empty(0)
    for first in range(0, len(rows), tuning.MOTIONS_AT_ONCE):
        each = column[rows[first : first + tuning.MOTIONS_AT_ONCE]]
        found = np.unique(np.concatenate([found, each[np.isfinite(each)]]))[:most]
    return [float(value) for value in found]


def _hardest(ctx: Context, tool: int) -> dict[str, Any]:
    """Depth, width and chip of the hardest cut of a tool, and what its cuts use of each limit at most."""
    if ctx.setup is None:
        return {}
    uses = next((one for one in cut_uses(ctx)[0] if one.tool == tool and len(one.rows)), None)
    if uses is None:
        return {}
    worst = int(np.nanargmax(np.nan_to_num(uses.worst()[0], nan=-1.0)))
    return {
        "axial_depth_mm": _number(float(uses.depth_mm[worst])),
        "radial_width_mm": _number(float(uses.width_mm[worst])),
        "chip_mm": _number(float(uses.chip_mm[worst])),
        "limits": tuple(
            LimitUse(key=key, share=round(float(np.nanmax(values)), 6))
            for key, values in uses.uses.items()
            if np.isfinite(values).any()
        ),
    }


def _setup(ctx: Context, learned: str) -> SetupFacts:
    setup, facts = ctx.setup, ctx.facts
    assumptions = (*_assumptions(ctx), *([learned] if learned else []))
    if setup is None:
        return SetupFacts(job=None, assumptions=assumptions)
    stock = setup.job.stock
    sizes = (stock.size_x_mm, stock.size_y_mm, stock.thickness_mm)
    known = tuple(float(v) for v in sizes if v is not None)
    zero = None
    if setup.job.zero.xy or setup.job.zero.z:
        zero = f"{setup.job.zero.xy or 'unknown'} in X Y, {setup.job.zero.z or 'unknown'} in Z"
    return SetupFacts(
        job=setup.path.name if setup.path else None,
        title=setup.job.title,
        machine=setup.machine.title if setup.machine else None,
        machine_name=setup.machine.name if setup.machine else None,
        material=setup.material.title if setup.material else None,
        material_name=setup.material.name if setup.material else None,
        stock_mm=(known[0], known[1], known[2]) if len(known) == 3 else None,
        zero=zero,
        screws=None if setup.screws is None else len(setup.screws),
        clamps=None if setup.clamps is None else len(setup.clamps),
        hold=None if setup.job.hold is None else tuple(hold_words(h, ctx.units) for h in setup.job.hold),
        hold_balance=balance_words(ctx),
        speed_set_by=facts.speed_set_by,
        assumptions=assumptions,
    )


def _assumptions(ctx: Context) -> tuple[str, ...]:
    facts = ctx.facts
    said = [f"what cuts was decided {facts.cutting_basis}"]
    if facts.assumed_tool is not None:
        said.append(f"the program names no tool; the job's only cutter, T{facts.assumed_tool}, was taken")
    if ctx.removal is None:
        said.append("every sideways cut counts as a slot, because the cut was not simulated")
    if any(not frame.known for frame in ctx.program.frames):
        said.append("work offsets whose distance is unknown were taken as lying in the same place")
    if ctx.setup and ctx.setup.machine and ctx.setup.machine.typical:
        said.append(
            "stiffness, push and acceleration are typical for the class of machine, not measured on yours"
        )
    return tuple(said)


def _cut(ctx: Context) -> CutFacts:
    removal = ctx.removal
    if removal is None:
        return CutFacts(
            basis=ctx.facts.cutting_basis, judged_share=_number(judged_share(ctx)), simulated=False
        )
    return CutFacts(
        basis=ctx.facts.cutting_basis,
        judged_share=_number(judged_share(ctx)),
        simulated=True,
        cell_mm=removal.cell_mm,
        depth_error_mm=_number(removal.depth_error_mm),
        width_error_mm=_number(removal.width_error_mm),
        not_simulated=int(removal.skipped.sum()),
        removed_cm3=round(float(removal.volume_mm3.sum()) / 1000.0, 3),
    )


def _times(ctx: Context) -> Times | None:
    if ctx.feeds is None or not len(ctx.program.motions):
        return None
    cutting = float(np.nansum(ctx.feeds.time_quick_s[ctx.facts.cutting]))
    return Times(
        quick_s=round(ctx.feeds.total_quick_s, 1),
        strict_s=round(ctx.feeds.total_strict_s, 1),
        cutting_quick_s=round(cutting, 1),
        watch=watch_list(ctx),
    )


def _clearances(ctx: Context) -> tuple[Clearance, ...]:
    """The nearest body of every screw and clamp, nearest first; keep-outs that nothing comes down to left out."""
    nearest: dict[tuple[bool, int], Gap] = {}
    for gap in clearances(ctx):
        key = gap.clamp, gap.index
        if key not in nearest or gap.gap_mm < nearest[key].gap_mm:
            nearest[key] = gap
    return tuple(
        Clearance(
            name=gap.name,
            body=gap.body,
            gap_mm=round(gap.gap_mm, 3),
            kept_mm=gap.kept_mm,
            line=int(ctx.program.motions.line[gap.row]),
        )
        for gap in sorted(nearest.values(), key=lambda gap: gap.gap_mm)
    )


def _cautions(ctx: Context) -> tuple[str, ...]:
    from millcalc.tables import load_cautions

    texts = load_cautions()
    keys = list(caution_keys(ctx.setup.material if ctx.setup else None))
    if ctx.removal is not None and ctx.removal.loose:
        keys.insert(0, "held-work")
    return tuple(texts[key].text for key in dict.fromkeys(keys) if key in texts)[:CAUTIONS_SHOWN]
