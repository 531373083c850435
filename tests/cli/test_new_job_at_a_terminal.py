"""``new job`` at a terminal offers what the tables hold, numbered; in a pipe it lists nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from millcalc.cli.choose import table_choices
from millcalc.cli.new_job import Choosing
from millcalc.job import Job, Question, ask_job, load_job
from millcalc.tables import list_names
from tests.helpers.command import run
from tests.helpers.terminal import typed


class Person:
    """Answers by what the prompt begins with, and keeps what was shown."""

    def __init__(self, **answers: list[str]) -> None:
        self.answers, self.shown = answers, ""

    def say(self, text: str) -> None:
        self.shown += text + "\n"

    def ask(self, text: str) -> str:
        self.shown += text
        step = self.shown.rsplit(" of 11: ", 1)[0].rsplit("\n", 1)[-1].split()[-1]
        left = self.answers.get(f"s{step}", [])
        return left.pop(0) if left else ""


@pytest.fixture(autouse=True)
def _alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "none"))


def asked(person: Person) -> Job:
    return ask_job(Choosing(person.ask, person.say))


def test_machine_material_and_cutters_by_number_alias_part_and_size() -> None:
    person = Person(
        s1=["1"], s2=["2"], s3=["cw614n", "1"], s8=["1, 6mm 1 flute, 22", "2, 1/8, 18", "flat-1-8in-2f", "7, 3", ""],
    )  # fmt: skip
    job = asked(person)
    assert job.units == "mm"
    assert job.machine == list_names("machines")[1]
    assert (job.material, job.grade_known) == ("brass-free-machining", True)
    assert (job.cutters[1].cutter, job.cutters[1].stickout_mm) == ("flat-6mm-1f", 22.0)
    assert (job.cutters[2].cutter, job.cutters[2].stickout_mm) == ("flat-1-8in-2f", 18.0)
    assert job.cutters[7].cutter == table_choices("cutters")[2][0]
    for part in (
        "2 of 11: Which machine?\n   1  ",
        "3 of 11: Which material?\n   1  abs ",
        "more: type part of a name\n",
        "more: type part of a name, or a size such as 6mm 1 flute",
        "number or name (empty: unknown): ",
        "  flat-1-8in-2f ",
        "(1 yes, 2 no)",
    ):
        assert part in person.shown, part


def test_an_empty_answer_still_leaves_it_unknown() -> None:
    person = Person(s2=["?"], s3=[""], s5=["3", "2"], s8=["1, zzz, 20", "", "none"])
    job = asked(person)
    assert (job.machine, job.material) == (None, None)
    assert (job.zero.xy, job.zero.z) == ("back-left", "bed top")
    assert "zzz: not among them" in person.shown  # and the job's own question names it again
    assert "found cutter" in person.shown or "unknown cutter 'zzz'" in person.shown


def test_the_persons_own_machine_and_cutters_come_first() -> None:
    Path("shop.yaml").write_text("machine: screw-desktop-300w\ncutters: [ball-6mm-2f]\n", encoding="utf-8")
    person = Person(s2=["1"], s8=["1, 1, 20", ""])
    job = asked(person)
    assert (job.machine, job.cutters[1].cutter) == ("screw-desktop-300w", "ball-6mm-2f")


def test_a_word_may_be_given_by_its_beginning() -> None:
    heard: list[str] = []
    choosing = Choosing(lambda text: heard.append(text) or "front-l", heard.append)  # type: ignore[func-returns-value]
    question = Question("zero.xy", "Where is X0 Y0?", "one of", ("front-left", "front-right"))
    assert choosing(question) == "front-l" and "1 front-left, 2 front-right" in heard[0]


def test_at_a_terminal_it_is_written_and_read_back(tmp_path: Path) -> None:
    answers = ["", "gantry-800w", "6082", "1", "160 x 110 x 6", "1", "1", "12", "1", "80", "none", "none", "",
               "1, 6mm 1 flute, 22", "", "1", "1", "plate.nc", "sensor plate"]  # fmt: skip
    code, screen = typed(["new", "job", "-o", "plate.yaml"], answers, tmp_path)
    assert code == 0, screen
    job = load_job(tmp_path / "plate.yaml")
    assert (job.machine, job.material, job.cutters[1].cutter) == ("gantry-800w", "al-6082-t6", "flat-6mm-1f")
    assert (job.zero.xy, job.spindle.set_by, job.cooling) == ("front-left", "program", "none")
    assert "   1  " in screen and "next: millcalc check plate.nc --job plate.yaml" in screen
    typed_back = [line for line in screen.splitlines() if len(line) > 80]
    assert typed_back == []


def test_in_a_pipe_nothing_is_listed_and_nothing_all_unknown_is_written(tmp_path: Path) -> None:
    done = run(["new", "job"], tmp_path)
    assert done.returncode == 2 and not list(tmp_path.glob("*.yaml"))
    assert "nothing was answered, so nothing was written" in " ".join(done.stderr.split())
    assert (
        "   1  " not in done.stdout
        and "Which machine? (a name from `millcalc tables machines`)" in " ".join(done.stdout.split())
    )
