"""``millcalc adjust``: from what is seen at the machine to the next settings."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from millcalc.cli.common import quantity
from millcalc.cli.options import (
    AnswerUnits,
    Cut,
    CutterName,
    Drop,
    KindOfCut,
    Learn,
    MachineName,
    MaterialName,
    Proven,
    Stickout,
    ToolingJob,
    ToolNumber,
)
from millcalc.cli.say import say, tell
from millcalc.cli.tooling import choose_tooling

NO_DRILL = "millcalc adjust knows milling cuts; for a drill: slower speed, sharper drill, shorter pecks"
Symptom = Annotated[
    str | None, typer.Argument(help="What is seen or heard, e.g. squeal; left out, the list of them.")
]


def command(
    symptom: Symptom = None,
    answer: Annotated[str | None, typer.Option(help="Answer to the one question it asks.")] = None,
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    cut: KindOfCut = Cut.slot,
    rpm: Annotated[str | None, typer.Option(help="Spindle speed in use; left out, the advised one.")] = None,
    feed: Annotated[str | None, typer.Option(help="Feed in use; left out, the advised one.")] = None,
    ap: Annotated[str | None, typer.Option(help="Depth in use; left out, the advised one.")] = None,
    ae: Annotated[str | None, typer.Option(help="Width in use; left out, the advised one.")] = None,
    plunge: Annotated[str | None, typer.Option(help="Plunge feed in use.")] = None,
    tone: Annotated[float | None, typer.Option(min=1.0, help="Pitch of the squeal, in Hz.")] = None,
    stickout: Stickout = None,
    drop: Drop = None,
    proven: Proven = None,
    job: ToolingJob = None,
    tool: ToolNumber = None,
    learn: Learn = True,
    units: AnswerUnits = None,
) -> None:
    """Likely causes of a symptom, with the evidence of the model, and the next settings to try."""
    from millcalc import units as read
    from millcalc.advise.adjust import adjust, answers_to
    from millcalc.advise.adjust_data import find_symptom
    from millcalc.advise.advice import advise
    from millcalc.advise.in_use import InUse
    from millcalc.cli.past_cuts import with_learned
    from millcalc.errors import UsageError
    from millcalc.limits.request import CutRequest
    from millcalc.report.adjust_text import print_adjustment, question_text
    from millcalc.report.console import make_console, plain

    if symptom is None:
        _list()
        return
    _, row = find_symptom(symptom)
    chosen = choose_tooling(
        machine, material, cutter, stickout=stickout, drop=drop, job=job, tool=tool, units=units
    )
    tooling, shown = chosen.tooling, chosen.units
    request = CutRequest(
        cut.value,
        axial_depth_mm=quantity(ap, "ap", read.length_mm, shown),
        radial_width_mm=quantity(ae, "ae", read.length_mm, shown),
        feed_mm_min=quantity(feed, "feed", read.feed_mm_min, f"{shown}/min"),
        speed_rpm=quantity(rpm, "rpm", read.speed_rpm),
        proven=chosen.proven(proven),
    )
    if cut.value == "drill":
        raise UsageError(NO_DRILL)
    if learn:
        tooling = with_learned(tooling, cut.value)
    plunge_feed = quantity(plunge, "plunge", read.feed_mm_min, f"{shown}/min")
    used = InUse.of(advise(tooling, request, units=shown, buys=False), plunge_feed, tone, request.proven)
    if answer is None:
        answer = _asked(plain(question_text(row, answers_to(row, tooling.material.family))))
    if missing := [name for name, value in (("rpm", rpm), ("feed", feed), ("ap", ap)) if value is None]:
        tell(f"not given, so the advised value is taken for: {', '.join(missing)}")
    print_adjustment(make_console(), adjust(symptom, used, answer, shown), shown)


def _list() -> None:
    """The symptoms, and how to go on."""
    from millcalc.advise.adjust_data import symptoms
    from millcalc.report.console import plain

    for key, row in symptoms().items():
        say(plain(f"{key:14} {row.title}"))
    tell("\nmillcalc adjust SYMPTOM --job JOB.yaml, with the settings in use: --rpm --feed --ap --ae")


def _asked(question: str) -> str:
    """The person's answer; without a terminal, what to type instead."""
    from millcalc.errors import UsageError

    if sys.stdin is None or not sys.stdin.isatty():
        raise UsageError(f"one question first, answer it with --answer WORD\n{question}")
    say(question)
    return str(typer.prompt("answer"))
