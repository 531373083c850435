"""Options that several commands share, each declared once."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class Units(StrEnum):
    """Units shown to the person."""

    mm = "mm"
    inch = "in"


class Cut(StrEnum):
    """Kinds of cut."""

    slot = "slot"
    side = "side"
    face = "face"
    plunge = "plunge"
    ramp = "ramp"
    helix = "helix"
    drill = "drill"


Stickout = Annotated[str | None, typer.Option(help="From collet face to tip.")]
Drop = Annotated[str | None, typer.Option(help="From the Z carriage's lowest bearing to the tip.")]
MachineName = Annotated[str | None, typer.Option(help="Machine; left out, the one in shop.yaml.")]
MaterialName = Annotated[str | None, typer.Option(help="Work material, e.g. al-6082-t6 or 6082.")]
CutterName = Annotated[str | None, typer.Option(help="Cutter, e.g. flat-6mm-1f.")]
ToolNumber = Annotated[int | None, typer.Option(help="Tool number of the job file.")]
KindOfCut = Annotated[Cut, typer.Option(help="Kind of cut.")]
ToolingJob = Annotated[Path | None, typer.Option(help="Take machine, material and cutter from a job file.")]
AnswerUnits = Annotated[Units | None, typer.Option(help="Units of bare numbers and of the answer.")]
JobUnits = Annotated[Units | None, typer.Option(help="Units of the answer; left out, the job's.")]
Profile = Annotated[str | None, typer.Option(help="Dialect profile to read the program by.")]
Accept = Annotated[
    list[str] | None, typer.Option(help='A finding you accept, with the reason: "SCREW-05=measured them".')
]
Cell = Annotated[str | None, typer.Option(help="Cell size of the simulated cut, e.g. 0.1.")]
NoSimulation = Annotated[bool, typer.Option("--no-simulation", help="Do not simulate the cut.")]
BlockDelete = Annotated[bool, typer.Option("--block-delete", help="Skip the lines that begin with a slash.")]
Json = Annotated[bool, typer.Option("--json", help="As JSON.")]
Learn = Annotated[
    bool,
    typer.Option("--learn/--no-learn", help="Use what the log has taught about this machine, or not."),
]
Proven = Annotated[
    bool | None,
    typer.Option(
        "--proven/--first-cut",
        help="Use every limit in full, or keep the first cut's reserve; left out, as the job says.",
    ),
]
Outputs = Annotated[
    list[Path] | None,
    typer.Option(
        "--out", "-o", help="Also write it to a file: .html, a page with its picture for a browser or phone."
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Replace a file that is there.")]
ProgramFile = Annotated[Path, typer.Argument(help="Program file.")]
JobOrProgram = Annotated[
    Path, typer.Argument(help="Program file, or a job file that names its program.", metavar="JOB_OR_PROGRAM")
]
JobOfProgram = Annotated[Path | None, typer.Option(help="Job file, where a program is given.")]
Target = Annotated[Path, typer.Option("--out", "-o", help="File to write.")]
ShownUnits = Annotated[Units | None, typer.Option(help="Units shown.")]
FileUnits = Annotated[
    Units | None, typer.Option(help="in: a CSV with columns in inches; left out, millimetres.")
]
