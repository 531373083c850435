"""What no rule can see: questions for the person, few and picked for this job."""

from __future__ import annotations

from millcalc.preflight.context import Context

MOST = 10
LOOK = {  # what a hold needs that no number shows; common practice, no source
    "tape": "Tape: both faces clean and dry, pressed down all over, under every piece that is cut free? Pull hard.",
    "vacuum": "Vacuum: gauge at its mark now, and still there once a cut is through? Seal and hose out of the way?",
    "vice": "Vice: work down on its seat, jaws clear of the path, handle off?",
    "side clamps": "Side clamps: work down flat, the stop behind it firm, all below the cutter and its nut?",
    "waste screws": "Screws in the waste: not one of them under the path? The job does not know where they are.",
}


def checklist(ctx: Context) -> tuple[str, ...]:
    """Questions to answer at the machine before the start.

    ctx: Program and set-up.
    Returns: Ten at most and two for tape, vacuum and the like, the costliest mistakes first.
    """
    facts, setup = ctx.facts, ctx.setup
    job = setup.job if setup else None
    offset = _offset(ctx)
    lines = [
        f"Zero: X and Y touched off where the drawing says, Z on the {job.zero.z if job and job.zero.z else 'right'}"
        f" surface, in {offset}? Hover {ctx.say.mm(5.0)} above a known spot and look.",
        _cutter_line(ctx),
        "Shank clean, clamped over its full length, marked with a pen? Look at the mark again after two minutes.",
    ]
    kinds = {hold.kind for hold in job.hold or ()} if job is not None else set()
    look = [LOOK[kind] for kind in LOOK if kind in kinds][:2]
    lines += look
    if setup is None or setup.screws is None or setup.clamps is None:
        lines.append("Screws and clamps: does the cutter, and the nut above it, miss every one of them?")
    elif setup.screws or setup.clamps:
        lines.append("Every screw and clamp where the job says, and tight? Pull at the plate by hand.")
    if facts.speed_set_by in ("dial", "fixed"):
        lines.append("Motor switched on by hand and the dial at its mark?")
    else:
        lines.append("Does the spindle start at M3, in the right direction?")
    if job is not None and job.cooling in ("air", "brush", "mist", "flood"):
        lines.append(f"Cooling ({job.cooling}) ready and pointing at the cutter?")
    if len(facts.tools) > 1:
        lines.append("After each change of cutter: Z touched off again, at a place that still stands then?")
    lines += [
        "Feed and speed overrides at 100 %? Nothing left over from the last job?",
        "Hose, cable and shoe free at all four corners of the path, moved by hand first?",
        "Computer will not sleep; stop button within reach without passing the cutter?",
        "This very file on the machine: name, size and fingerprint as shown above?",
    ]
    return tuple(lines[: MOST + len(look)])


def _offset(ctx: Context) -> str:
    names = [frame.name.split("+")[0] for frame in ctx.program.frames if frame.name != "machine"]
    return names[0] if names else "G54"


def _cutter_line(ctx: Context) -> str:
    parts = []
    for tool in ctx.facts.tools:
        fitted = ctx.facts.fitted(tool)
        if fitted is not None:
            out = f", {ctx.say.mm(fitted.stickout_mm)} out" if fitted.stickout_mm is not None else ""
            parts.append(f"T{tool} {ctx.say.mm(fitted.cutter.diameter_mm, 0.001)} {fitted.cutter.kind}{out}")
    if not parts:
        return "The right cutter fitted? Measure its diameter and how far it sticks out."
    return f"Cutter fitted and measured: {'; '.join(parts[:3])}{' ...' if len(parts) > 3 else ''}?"
