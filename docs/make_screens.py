"""Make ``docs/screens.md`` anew: what a person sees at 80 columns. Run ``python docs/make_screens.py``."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
PLATE = "demo_jobs/sensor_plate"
CUT = "--machine gantry-800w --material 6082 --cutter flat-6mm-1f --no-learn"
SCREENS = (
    f"settings {CUT} --thickness 6",
    f"settings {CUT} --thickness 0.25 --units in",
    f"settings {CUT} --ap 5",
    f"check {PLATE}/good.nc --job {PLATE}/job.yaml",
    f"check {PLATE}/bad.nc --job {PLATE}/job.yaml",
)


def screen(command: str) -> str:
    """What a command prints at 80 columns.

    command: Options and arguments after ``millcalc``.
    Returns: Its output.
    """
    done = subprocess.run(
        [sys.executable, "-m", "millcalc", *command.split()],
        cwd=HERE.parent,
        env={**os.environ, "COLUMNS": "80", "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    return done.stdout


def main() -> None:
    """Write the page."""
    parts = ["# The first screens\n\nMade by `python docs/make_screens.py`, at 80 columns.\n"]
    parts += [f"## millcalc {command}\n\n```\n{screen(command)}```\n" for command in SCREENS]
    (HERE / "screens.md").write_text("\n".join(parts), encoding="utf-8")


if __name__ == "__main__":
    main()
