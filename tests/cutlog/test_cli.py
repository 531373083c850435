"""The commands of ``millcalc log`` as a person types them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cuts import cut, days
from typer.testing import CliRunner

from millcalc.cli.log import app
from millcalc.cutlog.models import SYMPTOMS
from millcalc.cutlog.query import Query
from millcalc.cutlog.store import Log
from millcalc.errors import MillcalcError

FILE = "cuts.db"


def run(*words: str, fails: int | None = 0) -> str:
    """Run a command on the log of the test; returns all output, or the message of the error it ends with."""
    known = ["--log", FILE] if words[0] not in ("help",) else []
    result = CliRunner().invoke(app, [*words, *known], catch_exceptions=True)
    if isinstance(result.exception, MillcalcError):
        assert fails == 2, result.exception
        return str(result.exception)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == fails, result.output
    return result.output


def advice(name: str = "advice.json", depth: float | None = None) -> dict[str, object]:
    """Write the project's own advice for the sensor plate to a file."""
    from millcalc.advise.advice import advise
    from millcalc.advise.bare_shares import bare_shares
    from millcalc.limits.build import make_tooling
    from millcalc.limits.request import CutRequest
    from millcalc.report.advice_json import advice_data
    from millcalc.tables import load_cutter, load_machine, load_material

    tooling = make_tooling(
        load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter("flat-6mm-1f")
    )
    advice = advise(tooling, CutRequest("slot", axial_depth_mm=depth))
    data = advice_data(advice, bare_shares(advice))
    Path(name).write_text(json.dumps(data), encoding="utf-8")
    return data


PLAIN = ("--machine", "shed gantry", "--material", "acrylic", "--cutter", "my old cutter")


def test_an_entry_that_teaches_nothing_says_so_at_once() -> None:
    typed = " ".join(run("add", *PLAIN, "--outcome", "failed").split())
    assert "changes no advice: it lacks --rpm, --feed, --ap; `millcalc log edit 1 --set ...` adds it" in typed
    advice("cut.json")
    assert "changes no advice" not in run("add", "--from-settings", "cut.json", "--outcome", "good")


def test_from_advice_to_learned_margin() -> None:
    data = advice()
    for _ in range(6):
        out = run("add", "--from-settings", "advice.json", "--outcome", "failed", "--symptom", "chatter")
    assert "logged as entry 6" in out
    learned = json.loads(run("learn", "--json"))
    chatter = learned["margins"]["chatter"]
    assert learned["machine"] == "gantry-800w" and learned["cuts"] == 6
    assert chatter["failures"] == 6 and chatter["advised"] < 1.0
    assert learned["margins"]["power"]["advised"] == 1.0
    text = run("learn")
    assert "chatter: 6 telling cuts, 6 failed" in text and "not a promise" in text
    assert "from the log: 3 failed nearly the same" in run(
        "similar", "--from-settings", "advice.json", "--count", "3"
    )
    assert data["settings"] == json.loads(Path("advice.json").read_text(encoding="utf-8"))["settings"]


def test_predictions_are_made_anew_when_other_settings_were_cut() -> None:
    advice()
    out = run("add", "--from-settings", "advice.json", "--ap", "0.8 mm", "--outcome", "good")
    assert "axial_depth_mm: the command line says otherwise" in out
    with Log(FILE, readonly=True) as log:
        entry = log.get(1).entry
    data = json.loads(Path("advice.json").read_text(encoding="utf-8"))
    other = 0.8 / data["settings"]["axial_depth_mm"]
    (bend,) = [limit["share"] for limit in data["limits"] if limit["key"] == "deflection"]
    assert entry.axial_depth_mm == 0.8
    assert entry.shares["deflection"] == pytest.approx(bend * other, rel=0.1)
    assert entry.speed_rpm is not None


def test_what_the_program_says_goes_before_the_advice() -> None:
    advice()
    Path("plate.nc").write_text(
        "G21 G90 G17\nT1 M6\nS18000 M3\nG0 X0 Y0 Z5\nG1 Z-0.6 F120\nG1 X90 F720\nG1 Y30\nG0 Z5\nM30\n",
        encoding="utf-8",
    )
    out = run("add", "--from-settings", "advice.json", "--from-program", "plate.nc", "--outcome", "good")
    assert "speed_rpm, feed_mm_min: plate.nc says otherwise" in out
    with Log(FILE, readonly=True) as log:
        entry = log.get(1).entry
    assert (entry.speed_rpm, entry.feed_mm_min, entry.program) == (18000.0, 720.0, "plate.nc")
    assert entry.shares["chip_high"] > 0 and entry.cut_metres == pytest.approx((5.6 + 90 + 30) / 1000)
    assert entry.cut_minutes == pytest.approx(5.6 / 120 + 120 / 720)
    assert run("list", "--program", entry.program_sha256[:6]).count("flat") == 1


def test_free_names_inches_and_all_fields() -> None:
    run("add", *PLAIN, "--ap", "1/16 in", "--feed", "40 in/min", "--rpm", "18000 rpm", "--outcome", "acceptable",
        "--symptom", "melted", "--set", "flutes=1", "--set", "share_chip_low=1.2", "--set", "when=2025-01-05",
        "--notes", "- starts with a dash")  # fmt: skip
    with Log(FILE, readonly=True) as log:
        entry = log.get(1).entry
    assert entry.axial_depth_mm == pytest.approx(1.5875) and entry.feed_mm_min == pytest.approx(1016)
    assert entry.symptoms == ("melted",) and entry.shares == {"chip_low": 1.2}
    shown = run("show", "1")
    assert "2025-01-05" in shown and "chip load" in shown and ", computed" in shown and "by " in shown
    assert "in/min" in run("list", "--units", "in")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("add", *PLAIN), "no outcome"),
        (("add", *PLAIN, "--outcome", "splendid"), "'good', 'acceptable' or 'failed'"),
        (("add", *PLAIN, "--outcome", "failed", "--symptom", "sadness"), SYMPTOMS[0]),
        (("add", *PLAIN, "--outcome", "good", "--ap", "-1"), "axial_depth_mm"),
        (("add", *PLAIN, "--outcome", "good", "--feed", "fast"), "feed_mm_min"),
        (("add", *PLAIN, "--outcome", "good", "--set", "flutes"), "FIELD=VALUE"),
        (("add", *PLAIN, "--outcome", "good", "--set", "stikout_mm=3"), "stickout_mm"),
        (("add", *PLAIN, "--outcome", "good", "--set", "flutes=0"), "flutes"),
        (("add", "--outcome", "good", "--material", "a", "--cutter", "b"), "machine"),
        (("add", "--from-settings", "none.json", "--outcome", "good"), "none.json"),
        (("add", "--from-program", "none.nc", "--outcome", "good"), "none.nc"),
        (("show", "1"), "no entry 1"),
        (("edit", "1"), "nothing to change"),
        (("edit", "1", "--set", "machine="), "must be known"),
        (("remove", "5"), "no entry 5"),
        (("undo",), "nothing to take back"),
        (("learn",), "which machine?"),
        (("export", "-o", "x.odd"), "csv, json, parquet"),
        (("import", "none.csv"), "none.csv"),
        (("machine-changed", " ", "--machine", "m"), "empty"),
        (("stats", "-o", "x.png"), "no cut with both"),
    ],
)
def test_bad_input_is_one_clear_message(words: tuple[str, ...], message: str) -> None:
    with Log(FILE):
        pass
    assert message in run(*words, fails=2)
    with Log(FILE, readonly=True) as log:
        assert log.count() == 0


@pytest.mark.parametrize("command", ["list", "show", "similar", "learn", "stats", "wear", "verify", "export"])
def test_without_a_log_reading_says_so_and_makes_none(command: str) -> None:
    more = {"show": ["1"], "export": ["-o", "x.csv"]}.get(command, [])
    assert "no log" in run(command, *more, fails=2)
    assert not Path(FILE).exists()


def test_edit_remove_undo_verify() -> None:
    run("add", *PLAIN, "--outcome", "good", "--ap", "1")
    run("edit", "1", "--set", "axial_depth_mm=1.5", "--set", "notes=deeper than noted")
    run("edit", "1", "--set", "notes=")
    assert "no such cut" in run("list", "--removed")
    run("remove", "1")
    assert "no such cut" in run("list")
    assert "removal" in run("undo") and "edit" in run("undo")
    assert json.loads(run("show", "1", "--json"))["notes"] == "deeper than noted"
    assert "nothing found" in run("verify")
    with Log(FILE) as log:
        log.connection.execute("UPDATE cuts SET cell = 5")
    assert "search grid" in run("verify", fails=1)


def test_export_import_by_command() -> None:
    with Log(FILE) as log:
        log.add_many([cut(), cut(when=cut().when + days(1), outcome="failed")])
    assert "2 entries written" in run("export", "-o", "out.csv")
    assert "--force" in run("export", "-o", "out.csv", fails=2)
    assert "0 entries added, 2 known already" in run("import", "out.csv")
    Path(FILE).unlink()
    assert "2 entries would be added" in run("import", "out.csv", "--dry-run")
    assert not Path(FILE).exists()
    assert "2 entries added" in run("import", "out.csv")
    Path("bad.csv").write_text(
        "when,machine,cutter,material,outcome,Colour\n2025-01-01,m,c,acrylic,good,red\nx,m,c,a,good,\n",
        encoding="utf-8",
    )
    assert "bad.csv:3: when" in run("import", "bad.csv", fails=2)
    assert "'Colour' is not mapped" in run("import", "bad.csv", "--dry-run", fails=1)
    assert "1 entries added" in run("import", "bad.csv", "--skip-bad")


def test_wear_stats_alterations() -> None:
    for minutes, symptoms in ((60, ["cutter-worn"]), (50, [])):
        bit = "1" if symptoms else "2"
        more = [word for symptom in symptoms for word in ("--symptom", symptom)]
        fields = ["--set", f"cut_minutes={minutes}", "--set", f"bit={bit}", "--set", "chip_mm=0.04"]
        out = run("add", *PLAIN, "--outcome", "good", "--ap", "1", *fields, *more)
    assert "cutters like it ended at about 60 min" in out
    assert "50.0" in run("wear")
    assert "2 cuts drawn" in run("stats", "-o", "d.svg") and Path("d.svg").stat().st_size > 1000
    assert "or --force to replace it" in run("stats", "-o", "d.svg", fails=2)
    assert json.loads(run("stats", "--json"))["worked"][0]["cuts"] == 2
    run("machine-changed", "stiffer plate", "--machine", "shed gantry")
    assert "left out" in run("learn", "--machine", "shed gantry")


def test_bit_age_is_counted_up() -> None:
    for _ in range(3):
        run("add", *PLAIN, "--outcome", "good", "--set", "bit=1", "--set", "cut_minutes=7")
    with Log(FILE, readonly=True) as log:
        assert [s.entry.bit_age_min for s in log.find(Query())] == [14.0, 7.0, None]


@pytest.mark.parametrize("width", ["80", "120"])
def test_tables_fit_the_screen(width: str, monkeypatch: pytest.MonkeyPatch) -> None:
    advice()
    run("add", "--from-settings", "advice.json", "--outcome", "failed", "--symptom", "cutter-chipped")
    monkeypatch.setattr("millcalc.report.console.PIPE_WIDTH", int(width))
    for words in (("list",), ("show", "1"), ("similar", "--like", "1"), ("learn",), ("stats",), ("wear",)):
        assert max(map(len, run(*words).splitlines())) <= int(width)


def test_listing_and_learning_import_nothing_heavy(tmp_path: Path) -> None:
    import subprocess
    import sys

    run("add", *PLAIN, "--outcome", "good")
    code = (
        "import sys\nfrom millcalc.cli.log import app\n"
        "try:\n    app(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        "print(sorted({'numba', 'scipy', 'pandas', 'matplotlib'} & set(sys.modules)))"
    )
    for words in (
        ["--help"],
        ["list", "--log", FILE],
        ["learn", "--log", FILE],
        ["similar", "--like", "1", "--log", FILE],
    ):
        done = subprocess.run(
            [sys.executable, "-c", code, *words], capture_output=True, text=True, encoding="utf-8", check=True
        )
        assert done.stdout.splitlines()[-1] == "[]", words


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("list", "--since", "0001-01-01"), "a day from 1970 to 9000"),
        (("list", "--until", "9999-12-31"), "a day from 1970 to 9000"),
        (("list", "--limit", "100000000000000000000"), "1000000"),
    ],
)
def test_a_day_or_a_number_beyond_any_log_gets_one_line(words: tuple[str, ...], said: str) -> None:
    run("add", *PLAIN, "--outcome", "good")
    assert said in run(*words, fails=2)


@pytest.mark.parametrize("head", [b"x", b"SQLite", b"a letter to a friend"])
def test_a_file_that_is_no_log_is_left_as_it_is(head: bytes) -> None:
    Path(FILE).write_bytes(head)
    told = " ".join(run("add", *PLAIN, "--outcome", "good", fails=2).split())
    assert "a damaged file, or one that is not a log of cuts" in told
    assert "`millcalc log restore BACKUP` puts a backup in its place" in told
    assert Path(FILE).read_bytes() == head
