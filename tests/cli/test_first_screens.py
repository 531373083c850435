"""The first screen is the answer: line counts at 80 columns, and what must stand on it."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from millcalc.cli.lazy import COMMANDS
from millcalc.tables import demo_root, describe
from tests.helpers.command import flat, run

GOOD = ["settings", "--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]


@pytest.fixture(autouse=True)
def _eighty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


def screen(args: list[str], folder: Path, most: int, code: int | None = 0) -> list[str]:
    """Run, and hold what every screen keeps: the width, no trailing blanks, never the word safe."""
    done = run(args, folder)
    assert code is None or done.returncode == code, done.stderr
    lines = done.stdout.splitlines()
    assert len(lines) <= most, len(lines)
    assert max(len(line) for line in lines) <= 80
    assert [line for line in lines if line != line.rstrip()] == []
    assert "safe" not in done.stdout.lower().split()
    return lines


def test_settings_first_screen_says_what_to_type_why_and_what_to_mind(tmp_path: Path) -> None:
    text = "\n".join(screen([*GOOD, "--thickness", "6"], tmp_path, 40))
    for part in ("13200 rpm", "390 mm/min", "0.9 mm", "chip room governs, 0.9 mm of 0.9 mm", "glasses"):
        assert part in text
    assert "6 mm: 7 passes of 0.86 mm, 1.8 min for 100 mm of path" in text  # 7 x 100 / 390
    assert "expect sideways 18 N to 43 N, power 28 W to 65 W, bending 14 µm to 33 µm" in text
    assert "1.4 mm deep at 1280 mm/min and" in text and "5.1× the removal" in text
    assert "all limits hold in 95 of 100" in text or "all limits hold in 94 of 100" in text
    assert "makers' limits go first" in text and "--more" in text


@pytest.mark.parametrize("material", ["aluminium", "mdf", "carbon-fibre"])
@pytest.mark.parametrize("cut", ["slot", "plunge", "helix"])
def test_settings_fit_a_screen_in_every_sort_of_work(tmp_path: Path, material: str, cut: str) -> None:
    args = ["settings", "--machine", "screw-desktop-300w", "--material", material, "--cutter", "flat-6mm-2f"]
    lines = screen([*args, "--cut", cut, "--thickness", "6", "--no-learn"], tmp_path, 40, None)
    care = lines[lines.index("Care") + 1 : -1]
    assert 2 <= len(care) <= 3 and care[0].startswith("  glasses")
    assert len(lines[lines.index("Why") + 1 :]) > 4


def test_more_tells_everything_without_trailing_blanks(tmp_path: Path) -> None:
    lines = screen([*GOOD, "--more"], tmp_path, 200)
    assert len(lines) > 60
    assert any("Limits, by how much" in line for line in lines)


def test_inches_throughout(tmp_path: Path) -> None:
    for more in ([], ["--more"]):
        text = "\n".join(screen([*GOOD, "--units", "in", *more, "--no-learn"], tmp_path, 200))
        for unit in ("in/min", "in³/min", "lbf", "hp", "thou", "sfm"):
            assert unit in text, unit
        for unit in (" N ", " W ", "cm³", "µm"):
            assert unit not in text, unit


def test_a_depth_too_deep_names_the_limits_that_are_over(tmp_path: Path) -> None:
    text = "\n".join(screen([*GOOD, "--ap", "5"], tmp_path, 40, 1))
    assert "NOT WITHIN THE LIMITS" in text
    assert "OVER chip room, 5 mm of 0.6 mm" in text or "OVER chip room, 5 mm of 0.9 mm" in text
    assert "passes of" not in text


PLATE = demo_root() / "sensor_plate"


def test_bad_program_says_do_not_run_first_and_tells_the_worst_five(tmp_path: Path) -> None:
    lines = screen(["check", str(PLATE / "bad.nc"), "--job", str(PLATE / "job.yaml")], tmp_path, 40, 1)
    assert lines[0] == "Do not run: 8 stops, 20 more to look at"
    assert [line[6:].split(" (")[1][:-1] for line in lines if line.startswith("STOP  ")] == [
        "SCREW-01", "RAPID-01", "LOOSE-01", "SPIN-01", "SPIN-02",
    ]  # fmt: skip
    assert sum(line.startswith("  → ") for line in lines) == 5
    text = " ".join(" ".join(lines).split())
    assert "and 23 more: 3 stops, 12 warnings, 8 notes (--all)" in text
    assert "line 18: S30000 M3 → Set S24000" in text  # the word that is wrong, not the cut that runs at it
    for part in (
        "not checked: 2, because",
        "look yourself before the start: 10 questions (--all)",
        "glasses",
    ):
        assert part in text


def test_good_program_says_what_there_is_to_look_at(tmp_path: Path) -> None:
    lines = screen(["check", str(PLATE / "good.nc"), "--job", str(PLATE / "job.yaml")], tmp_path, 40)
    assert lines[0].startswith("No stop found, 3 things to look at in the ")


@pytest.mark.parametrize("job", ["box", "window"])
def test_every_demo_program_is_told_in_a_screen(tmp_path: Path, job: str) -> None:
    for program in sorted((demo_root() / job).glob("*.nc")):
        lines = screen(["check", str(program), "--job", str(program.parent / "job.yaml")], tmp_path, 40, None)
        assert lines[0].startswith(("Do not run: ", "No stop found, "))


def test_a_program_without_a_job_says_what_would_tell_more(tmp_path: Path) -> None:
    text = " ".join(screen(["check", str(PLATE / "bad.nc")], tmp_path, 40, 1))
    assert "no job file" in text and "millcalc new job" in text


def test_demo_is_three_screens_and_ends_with_what_to_do_next(tmp_path: Path) -> None:
    lines = screen(["demo"], tmp_path, 120)
    next_steps = lines[lines.index("What to do next") + 1 :]
    assert 2 <= len(next_steps) <= 4 and all("millcalc " in line for line in next_steps)
    assert any(line.startswith("Do not run: ") for line in lines)
    assert any(line.startswith("No stop found, ") for line in lines)


def test_all_missing_options_are_named_at_once(tmp_path: Path) -> None:
    done = run(["settings"], tmp_path)
    assert done.returncode == 2 and not done.stdout
    assert "give --machine NAME --material NAME --cutter NAME, or --job" in flat(done.stderr)
    (tmp_path / "shop.yaml").write_text("machine: gantry-800w\ncutters: [flat-6mm-1f]\n", encoding="utf-8")
    assert "give --material NAME --cutter NAME, or --job" in flat(run(["settings"], tmp_path).stderr)


def test_the_screens_of_the_docs_are_those_that_are_printed(tmp_path: Path) -> None:
    """Run ``python docs/make_screens.py`` after a change of a screen."""
    shown = (Path(__file__).parents[2] / "docs" / "screens.md").read_text(encoding="utf-8")
    done = run([*GOOD, "--no-learn", "--thickness", "6"], tmp_path)
    assert done.stdout in shown


def test_list_of_cuts_breaks_no_word(tmp_path: Path) -> None:
    added = ["log", "add", *GOOD[1:], "--rpm", "13200", "--feed", "390", "--ap", "0.85", "--ae", "6"]
    assert run([*added, "--outcome", "good", "--log", str(tmp_path / "c.db")], tmp_path).returncode == 0
    text = "\n".join(screen(["log", "list", "--log", str(tmp_path / "c.db")], tmp_path, 12))
    for word in ("al-6082-t6", "flat-6mm-1f", "13200", "390", "good", "material", "outcome"):
        assert word in text.split(), text


@pytest.mark.parametrize(
    ("kind", "name"),
    [("machines", "gantry-800w"), ("materials", "brass-free-machining"), ("cutters", "flat-6mm-1f")],
)
def test_a_row_of_a_table_breaks_no_word(kind: str, name: str, tmp_path: Path) -> None:
    lines = screen(["tables", kind, name], tmp_path, 400)
    words = " ".join(lines).split()
    for item in describe(kind, name):
        for word in (item.field, item.source and item.source.split()[0]):
            assert not word or any(word in seen for seen in words), word
    assert "estimate (estimate" not in " ".join(words)  # a source that says its own trust says it once


def test_ways_to_cut_part_no_number_from_its_unit(tmp_path: Path) -> None:
    for units in ("mm", "in"):
        lines = screen(["alternatives", *GOOD[1:], "--units", units, "--no-learn"], tmp_path, 80)
        ends = [line.split()[-1] for line in lines if line.strip()]
        assert [word for word in ends if word in ("ap", "ae") or word.replace(".", "").isdigit()] == []
        assert not any(line.split()[0] in ("mm,", "in,", "mm", "in") for line in lines if line.strip())


def test_a_folder_is_told_a_line_a_program_with_code_and_line(tmp_path: Path) -> None:
    shutil.copytree(demo_root(), tmp_path / "d")
    for encoding in ("utf-8", "ascii"):
        done = run(["check", "d", "--workers", "1"], tmp_path, encoding, COLUMNS="80")
        rows = [line for line in done.stdout.splitlines() if re.match(r"  d/\S+ +[\d-]", line)]
        assert len(rows) == 5 and max(map(len, rows)) <= 80
        assert re.search(r"^  d/sensor_plate/bad.nc +1 +2 +4  STOP SPIN-01 line 10 ", rows[0])
        assert re.search(
            r"NOTE DEPTH-05 line \d+ +29 min 06 s$", next(row for row in rows if "plate/good" in row)
        )


def test_what_the_log_taught_is_one_sentence_on_the_first_screen(tmp_path: Path) -> None:
    """Two failures and three thicknesses of words would push the answer off a screen of 40 lines."""
    log = ["--log", str(tmp_path / "c.db")]
    cut = ["--rpm", "13200", "--feed", "300", "--ap", "0.5"]
    for symptom in ("chatter", "poor-wall"):
        done = run(
            ["log", "add", *GOOD[1:], *cut, "--outcome", "failed", "--symptom", symptom, *log], tmp_path
        )
        assert done.returncode == 0, done.stderr
    for units in ("mm", "in"):
        words = [*GOOD, "--thickness", "6 mm", "--units", units]
        done = run(words, tmp_path, COLUMNS="80", MILLCALC_LOG=str(tmp_path / "c.db"))
        text = " ".join(done.stdout.split())
        assert done.returncode == 0 and len(done.stdout.splitlines()) <= 40
        assert re.search(
            r"the log takes deflection at 0\.\d\d, chatter at 0\.\d\d times what is computed", text
        ), text
        assert "a cut failed far below a limit: measure the machine" in text
        assert "telling cut" not in text
        more = run([*words, "--more"], tmp_path, MILLCALC_LOG=str(tmp_path / "c.db")).stdout
        assert "learned from the log" in more and "telling cut" in more


def test_show_and_explain_speak_as_a_machinist_does(tmp_path: Path) -> None:
    told = "\n".join(screen(["show", str(PLATE / "bad.nc")], tmp_path, 60))
    for line in ("line 2: work offset G54", "line 3: tool called for: T1", "line 47: tool change to T7"):
        assert f"  {line}\n" in told
    assert "read for any controller" in told and "at feed in 2 min 35 s" in told
    assert "  1 motion has an end that the program does not determine\n" in told
    assert not re.search(r"frame|tool select|\n +×", told)
    assert "``" not in "\n".join(screen(["explain", "PLUNGE-01"], tmp_path, 40))


@pytest.mark.parametrize("name", [*COMMANDS, "log add", "log list", "measure speed", "new job"])
def test_help_names_values_in_words(name: str, tmp_path: Path) -> None:
    told = "\n".join(screen([*name.split(), "--help"], tmp_path, 90))
    assert re.findall(r"<(?:str|int|float|path|list|datetime)\b[ \[>]", told) == []
    assert "completion" not in told
    assert [line for line in told.splitlines() if re.search(r"\w\.\.\.$", line)] == []  # no line is cut off


def test_every_tuning_number_keeps_to_the_width(tmp_path: Path) -> None:
    assert len(screen(["tables", "tuning"], tmp_path, 3000)) > 300
