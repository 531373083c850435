"""What stands on a terminal: nothing wider than it, no blanks at the ends of lines, no colour where none is wanted."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from millcalc.tables import demo_root
from tests.helpers.command import run
from tests.helpers.terminal import typed

STYLE = re.compile(r"\x1b\[[0-9;]*m")
COLOUR = re.compile(r"\x1b\[[0-9;]*\b(?:3[0-7]|4[0-7]|9[0-7]|38|48)[0-9;]*m")
GIVEN = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]


@pytest.mark.parametrize("columns", [80, 120])
@pytest.mark.parametrize(
    "words", [["settings", *GIVEN], ["alternatives", *GIVEN], ["tables", "machines", "gantry-800w"]]
)
def test_lines_of_a_terminal_are_as_those_of_a_pipe(words: list[str], columns: int, tmp_path: Path) -> None:
    code, screen = typed(words, [], tmp_path, columns)
    assert code == 0, screen
    assert STYLE.search(screen)  # headings are bold
    for line in screen.splitlines():
        shown = STYLE.sub("", line)
        assert shown == shown.rstrip() and len(shown) <= columns, line


def test_no_colour_where_it_is_not_wanted_and_nothing_at_all_on_a_dumb_terminal(tmp_path: Path) -> None:
    shutil.copytree(demo_root() / "sensor_plate", tmp_path / "p")
    words = ["check", "p/bad.nc", "--job", "p/job.yaml", "--no-simulation"]
    assert COLOUR.search(typed(words, [], tmp_path, NO_COLOR="")[1])  # an empty one counts as none
    assert not COLOUR.search(typed(words, [], tmp_path, NO_COLOR="1")[1])
    assert "\x1b" not in typed(words, [], tmp_path, TERM="dumb", NO_COLOR="")[1]


def test_what_is_missing_is_chosen_by_number_and_size(tmp_path: Path) -> None:
    code, screen = typed(["settings"], ["5", "6082", "6mm 1 flute"], tmp_path)
    plain = STYLE.sub("", screen)
    assert (
        code == 0 and "Flat, 6 mm, one flute, up-cut in Aluminium 6082-T6, on Rail-guided aluminium" in plain
    )
    assert max(len(line) for line in plain.splitlines()) <= 80
    for part in ("which machine?", "which material?", "which cutter?", "  and 27 more: type part of a name"):
        assert part in plain


def test_the_cautions_stand_in_full_above_the_first_answer_of_a_day(tmp_path: Path) -> None:
    data = {"XDG_DATA_HOME": str(tmp_path / "data"), "LOCALAPPDATA": str(tmp_path / "data")}
    screens = [STYLE.sub("", typed(["settings", *GIVEN], [], tmp_path, **data)[1]) for _ in range(2)]
    head = "Care, in full once a day (--more shows it again)"
    assert screens[0].startswith(head) and head not in screens[1]
    answer = screens[0][screens[0].index("Flat, 6 mm, one flute") :]
    assert answer == screens[1]  # the answer itself is the same, and the last thing on the screen
    full = run(["settings", *GIVEN, "--more"], tmp_path, COLUMNS="200").stdout
    told = " ".join(screens[0].split())
    cautions = [line.strip() for line in full.splitlines() if line.strip().startswith("! ")]
    assert len(cautions) > 5
    assert [text for text in cautions if " ".join(text.split()) not in told] == []
    next(tmp_path.rglob("cautions.day")).write_text("2020-01-01\n", encoding="utf-8")
    assert typed(["settings", *GIVEN], [], tmp_path, **data)[1].count("in full once a day") == 1
    assert head not in run(["settings", *GIVEN], tmp_path).stdout  # never in a pipe


def test_the_next_command_stays_whole_to_be_copied(tmp_path: Path) -> None:
    answers = ["gantry-800w", "Shed", "500 300 80", "1 kW", "18000", "shed"]
    code, screen = typed(["new", "machine"], answers, tmp_path)
    assert code == 0, screen
    command = "millcalc settings --machine shed --material al-6061-t6 --cutter flat-6mm-1f"
    assert f"  {command}" in screen.splitlines()
    titles = [line for line in screen.splitlines() if line.endswith("aluminium gantry with 1.5 kW spindle")]
    assert len(titles) == 1  # a name and its title on one line
