"""Own machine, cutter and shop by a few answers, and choosing from the tables by number, name or size."""

from __future__ import annotations

from pathlib import Path

import pytest

from millcalc.cli.choose import choose, table_choices
from millcalc.cli.new_tables import new_cutter, new_machine, new_shop
from millcalc.errors import InputError, UsageError
from millcalc.job import run_new_job
from millcalc.tables import describe, load_cutter, load_machine, load_shop
from millcalc.tables.cutter_search import wanted


class Person:
    """Answers from a list, and what was said."""

    def __init__(self, *answers: str) -> None:
        self.answers, self.asked, self.heard = list(answers), [], []  # type: ignore[var-annotated]

    def ask(self, question: str) -> str:
        self.asked.append(question)
        return self.answers.pop(0)

    def say(self, text: str) -> None:
        self.heard.append(text)


@pytest.fixture(autouse=True)
def _alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "none"))


@pytest.mark.parametrize(
    ("text", "diameter", "flutes"),
    [
        ("6mm 1 flute", 6.0, 1),
        ("1/8", 3.175, None),
        ("1/4 in two flutes", 6.35, 2),
        ("6 mm 2f", 6.0, 2),
        ("3.175", 3.175, None),
    ],
)
def test_a_cutter_is_read_from_its_size_and_flutes(text: str, diameter: float, flutes: int | None) -> None:
    found = wanted(text)
    assert found is not None and found.diameter_mm == pytest.approx(diameter) and found.flutes == flutes


def test_one_fitting_cutter_is_taken_and_several_are_named() -> None:
    from millcalc.errors import TableError

    assert load_cutter("6mm 1 flute").name == "flat-6mm-1f"
    with pytest.raises(TableError, match="said of") as caught:
        load_cutter("1/8")
    assert "flat-1-8in-1f, flat-1-8in-2f" in caught.value.accepted


def test_choosing_by_number_name_part_and_size() -> None:
    machines, cutters = table_choices("machines"), table_choices("cutters")
    assert choose("?", machines, Person("1").ask, print, kind="machines") == machines[0][0]
    assert choose("?", machines, Person("gantry-800w").ask, print) == "gantry-800w"
    person = Person("1/8", "1")
    assert choose("?", cutters, person.ask, person.say, kind="cutters") == "flat-1-8in-1f"
    assert any("1  flat-1-8in-1f" in text for text in person.heard)
    with pytest.raises(UsageError, match="no choice"):
        choose("?", machines, Person(*["zzz"] * 10).ask, print)


def test_a_machine_of_its_own_keeps_what_was_given_and_says_what_is_typical() -> None:
    person = Person("gantry-800w", "Shed router", "500 300 80", "1 kW", "not fast", "18000", "shed")
    path = new_machine(Path.cwd(), person.ask, person.say)
    made = load_machine("shed")
    assert (made.travel_mm.x, made.spindle.max_rpm, made.title) == (500.0, 18000.0, "Shed router")
    assert (made.travel_mm.source, made.travel_mm.confidence) == ("given-by-you", "given by you")
    assert made.stiffness_n_um.confidence == "estimate" and made.typical
    assert max(point.power_w for point in made.spindle.power) == 800.0
    assert any("not fast" in text for text in person.heard)  # what could not be read was asked again
    assert [question[:6] for question in person.asked if question[1:5] == " of "][-1] == "6 of 6"
    assert str(path) in person.heard[-3] and "millcalc settings --machine shed" in person.heard[-2]


def test_a_cutter_of_its_own_takes_the_rest_from_the_nearest() -> None:
    person = Person("flat", "3.5 mm", "12", "", "2", "mine")
    new_cutter(Path.cwd(), person.ask, person.say)
    made = load_cutter("mine")
    assert (made.diameter_mm, made.flutes, made.flute_length_mm) == (3.5, 2, 12.0)
    assert made.confidence == "given by you"
    assert "typical values of flat-" in made.notes[0] and "shank" in made.notes[0]


def test_a_cutter_without_a_diameter_is_asked_for_it_again_at_once() -> None:
    person = Person("flat", "", "0", "3.5 mm", "12", "", "2", "mine")
    new_cutter(Path.cwd(), person.ask, person.say)
    assert load_cutter("mine").diameter_mm == 3.5
    assert [question[:6] for question in person.asked].count("2 of 6") == 3
    assert any("write a length above zero" in text for text in person.heard)


def test_kind_diameter_flutes_and_shank_are_enough_for_a_cutter() -> None:
    folder = Path("materials/cutters")
    folder.mkdir(parents=True)
    (folder / "stub.yaml").write_text(
        "kind: ball\ndiameter_mm: 5\nflutes: 2\nshank_mm: 6\n", encoding="utf-8"
    )
    made = load_cutter("stub")
    assert (made.diameter_mm, made.shank_mm, made.corner_radius_mm, made.flutes) == (5.0, 6.0, 2.5, 2)


def test_a_shop_is_written_and_read() -> None:
    person = Person("gantry-800w", "6mm 1 flute", "1/8", "flat-1-8in-1f", "", "mm")
    new_shop(Path.cwd(), person.ask, person.say)
    shop = load_shop()
    assert (
        shop is not None
        and shop.machine == "gantry-800w"
        and shop.cutters == ("flat-6mm-1f", "flat-1-8in-1f")
    )


def test_a_job_to_which_nothing_was_answered_is_not_written() -> None:
    with pytest.raises(UsageError, match="nothing was answered"):
        run_new_job("job.yaml", lambda question: "", lambda text: None)
    assert not Path("job.yaml").exists()


def test_questions_and_answers_fit_the_width(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import subprocess
    import sys

    monkeypatch.setenv("COLUMNS", "80")
    done = subprocess.run(
        [sys.executable, "-m", "millcalc", "new", "job"], cwd=tmp_path, capture_output=True, encoding="utf-8",
        input="\ngantry-800w\n", check=True,
    )  # fmt: skip
    lines = done.stdout.splitlines()
    assert max(len(line.removeprefix("> ")) for line in lines) <= 80
    assert "> 4 of 11: Stock size X x Y x thickness? (such as 160 x 110 x 6; ? for a size you" in lines
    assert lines[-1] == "next: millcalc check PROGRAM.nc --job job.yaml"


def test_a_table_says_of_each_number_whether_it_was_given() -> None:
    folder = Path("materials/cutters")
    folder.mkdir(parents=True)
    (folder / "mine.yaml").write_text(
        "kind: flat\ndiameter_mm: 5\nflutes: 2\nshank_mm: 6\n", encoding="utf-8"
    )
    told = {line.field: (line.source, line.confidence) for line in describe("cutters", "mine")}
    assert told["diameter_mm"] == told["shank_mm"] == ("given-by-you", "given by you")
    assert told["flute_length_mm"] == told["helix_deg"] == ("", "typical, not given")
    Path("materials/machines").mkdir()
    Path("materials/machines/shed.yaml").write_text(
        "based_on: gantry-800w\ntitle: Shed\ntravel_mm: {x: 500, y: 300, z: 80}\nspindle: {max_rpm: 18000}\n",
        encoding="utf-8",
    )
    told = {line.field: (line.source, line.confidence) for line in describe("machines", "shed")}
    assert told["travel_mm"] == told["spindle.max_rpm"] == ("given-by-you", "given by you")
    assert told["spindle.min_rpm"] == ("", "typical, not given")


def test_one_misspelling_is_one_error_with_the_right_spelling() -> None:
    folder = Path("materials/cutters")
    folder.mkdir(parents=True)
    for text, line, says in (
        ("kind: flatt\ndiameter_mm: 5\nflutes: 2\n", 1, "kind: found 'flatt'"),
        (
            "kind: flat\ndiametr_mm: 5\nflutes: 2\n",
            2,
            "diametr_mm: found a field of this name, which is not known",
        ),
    ):
        (folder / "mine.yaml").write_text(text, encoding="utf-8")
        with pytest.raises(InputError) as caught:
            load_cutter("mine")
        told = str(caught.value)
        assert f"mine.yaml:{line}: {says}" in told and "\n" not in told
        assert told.endswith(("do: write flat, if that is meant", "do: write diameter_mm, if that is meant"))
