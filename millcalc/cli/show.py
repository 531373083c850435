"""``millcalc show``: what a program contains."""

from __future__ import annotations

from typing import Annotated

import typer

from millcalc.cli.common import compile_notice
from millcalc.cli.options import Json, Profile, ProgramFile, Units
from millcalc.cli.say import say


def command(
    program: ProgramFile,
    units: Annotated[Units, typer.Option(help="Units of the answer.")] = Units.mm,
    profile: Profile = None,
    json: Json = False,
) -> None:
    """Summarise a program: extents, tools, feeds, speeds, time, and words that were not understood."""
    compile_notice(program)
    from millcalc.cli.watched import busy
    from millcalc.gcode.options import ReadOptions
    from millcalc.gcode.reader import read_program_file
    from millcalc.gcode.summary import summarise
    from millcalc.report.summary_text import print_summary, summary_data

    options = ReadOptions(profile=profile) if profile else ReadOptions()
    with busy("reading"):
        read = read_program_file(program, options)
    summary = summarise(read)
    if json:
        import json as json_module

        say(json_module.dumps(summary_data(read, summary), indent=2, ensure_ascii=False))
        return
    from millcalc.report.console import make_console

    print_summary(make_console(), read, summary, units.value)
