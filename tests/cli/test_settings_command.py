"""``millcalc settings`` and ``tables``, ``explain`` as a person runs them: good input, bad input, pipes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.helpers.command import flat, run, run_apart

GOOD = ["settings", "--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]


def test_good_answer_has_all_parts(tmp_path: Path) -> None:
    done = run([*GOOD, "--more"], tmp_path)
    assert done.returncode == 0, done.stderr
    for part in ("Set", "Why", "Limits, by how much", "governs", "What to expect", "Care", "glasses"):
        assert part in done.stdout
    assert "\x1b" not in done.stdout
    assert not done.stderr


def test_json_is_clean(tmp_path: Path) -> None:
    done = run([*GOOD, "--json"], tmp_path)
    data = json.loads(done.stdout)
    assert data["schema"] == "millcalc-settings/1"
    assert data["fits"] is True
    assert data["settings"]["feed_mm_min"] > 0


def test_terminal_without_unicode_is_served(tmp_path: Path) -> None:
    done = run_apart(GOOD, tmp_path, encoding="ascii")
    assert done.returncode == 0, done.stderr
    assert done.stdout.isascii()
    assert "?" not in done.stdout.replace("?)", "")


def test_inches_in_and_out(tmp_path: Path) -> None:
    done = run([*GOOD, "--units", "in", "--ap", "1/64 in", "--stickout", "7/8 in"], tmp_path)
    assert done.returncode in (0, 1), done.stderr
    assert " in" in done.stdout and "in/min" in done.stdout


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (["--material", "alumnium"], "al-unknown"),
        (["--material", "unobtainium"], "accepted"),
        (["--cutter", "flat-6mm-1"], "flat-6mm-1f"),
        (["--machine", "gantry-900w"], "gantry-800w"),
        (["--ap", "-1"], "--ap"),
        (["--ap", "nan"], "--ap"),
        (["--ap", "two"], "--ap"),
        (["--ap", "1,5"], "--ap"),
        (["--cut", "side", "--ae", "9"], "ae"),
        (["--ap", "30", "--stickout", "20"], "stickout"),
        (["--rpm", "500"], "rev/min"),
        (["--rpm", "-3"], "--rpm"),
        (["--feed", "0"], "feed"),
        (["--stickout", "900"], "stickout"),
        (["--cut", "helix", "--bore", "4"], "bore"),
        (["--job", "nowhere.yaml"], "nowhere.yaml"),
    ],
)
def test_bad_input_is_explained(tmp_path: Path, change: list[str], expected: str) -> None:
    done = run([*GOOD, *change], tmp_path)
    assert done.returncode == 2, done.stdout
    assert expected in done.stderr
    assert "Traceback" not in done.stderr
    assert not done.stdout


def test_limits_exceeded_gives_exit_code_1(tmp_path: Path) -> None:
    done = run([*GOOD, "--ap", "5"], tmp_path)
    assert done.returncode == 1
    assert "NOT WITHIN THE LIMITS" in done.stdout


def test_shop_makes_the_machine_optional_and_limits_the_cutters(tmp_path: Path) -> None:
    (tmp_path / "shop.yaml").write_text(
        "machine: screw-desktop-300w\ncutters: [flat-1-8in-1f, flat-6mm-1f]\n", encoding="utf-8"
    )
    done = run(["settings", "--material", "6082", "--cutter", "flat-6mm-1f"], tmp_path)
    assert done.returncode == 0, done.stderr
    missing = run(["settings", "--material", "6082"], tmp_path)
    assert missing.returncode == 2
    assert "flat-1-8in-1f" in missing.stderr and "flat-8mm" not in missing.stderr


def test_own_table_overrides_the_shipped_one(tmp_path: Path) -> None:
    folder = tmp_path / "materials" / "machines"
    folder.mkdir(parents=True)
    (folder / "mine.yaml").write_text(
        "based_on: gantry-800w\nname: mine\ntitle: my own machine\n"
        "stiffness_n_um: {x: 0.2, y: 0.2, z: 0.4, source: common-practice, confidence: estimate}\n",
        encoding="utf-8",
    )
    ours = json.loads(run([*GOOD, "--json"], tmp_path).stdout)
    soft = json.loads(run([*GOOD, "--machine", "mine", "--json"], tmp_path).stdout)
    assert soft["settings"]["axial_depth_mm"] < ours["settings"]["axial_depth_mm"]


def test_tables_list_show_and_check(tmp_path: Path) -> None:
    assert "al-6082-t6" in run(["tables", "materials"], tmp_path).stdout
    shown = run(["tables", "materials", "6082"], tmp_path)
    assert "kc1.1" in shown.stdout or "kc11" in shown.stdout
    assert "sources" in shown.stdout
    json.loads(run(["tables", "cutters", "flat-6mm-1f", "--json"], tmp_path).stdout)
    bad = tmp_path / "bad.yaml"
    bad.write_text("title: [1\n", encoding="utf-8")
    done = run(["tables", "--check", str(bad)], tmp_path)
    assert done.returncode == 2 and "bad.yaml" in done.stderr


@pytest.mark.parametrize("word", ["chip load", "ae", "drop", "budget", "deflection", "chatter-depth"])
def test_words_are_explained(tmp_path: Path, word: str) -> None:
    done = run(["explain", *word.split()], tmp_path)
    assert done.returncode == 0, done.stderr
    assert len(done.stdout) > 60


def test_unknown_word_offers_the_closest(tmp_path: Path) -> None:
    done = run(["explain", "chip", "lode"], tmp_path)
    assert done.returncode == 2
    assert "closest: chip load" in flat(done.stderr)


def test_help_shows_the_cautions(tmp_path: Path) -> None:
    done = run(["--help"], tmp_path)
    assert "Glasses" in done.stdout
    assert "settings" in done.stdout and "check" in done.stdout
