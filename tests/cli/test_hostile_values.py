"""A hostile value at every place of a job, a table, a report and the log's options: an answer, or one clear line.

A value or two a place, others at the next; all of them with ``MILLCALC_ALL=1``, and as many as it is told to by
``benchmarks/hostile_values.py``.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import yaml

from millcalc.cutlog import fill
from millcalc.cutlog.rows import entry_from
from millcalc.errors import MillcalcError
from millcalc.job import parse_job
from millcalc.tables import check_table_file, data_root, demo_root
from tests.helpers.command import run
from tests.helpers.hostile import VALUES, places, put

ALL = bool(os.environ.get("MILLCALC_ALL"))
WAY = ["--machine", "gantry-800w", "--material", "al-6082-t6", "--cutter", "flat-6mm-1f"]


def _some(index: int, values: tuple[Any, ...] = VALUES) -> tuple[Any, ...]:
    return values if ALL else (values[index % len(values)],)


@pytest.mark.parametrize("name", ["sensor_plate", "window", "box"])
def test_every_place_of_a_job(name: str) -> None:
    data = yaml.safe_load((demo_root() / name / "job.yaml").read_text(encoding="utf-8"))
    read = refused = 0
    for index, place in enumerate(places(data)):
        for value in _some(index):
            text = yaml.safe_dump(put(data, place, value), allow_unicode=True)
            try:
                parse_job(text)
                read += 1
            except MillcalcError as error:
                assert str(error).strip(), (place, value)
                refused += 1
    assert refused > 20 and read > 0


@pytest.mark.parametrize("kind", ["materials", "cutters", "machines"])
def test_every_place_of_a_table(kind: str, tmp_path: Path) -> None:
    name = {"materials": "al-6082-t6", "cutters": "vee-60-6mm", "machines": "gantry-800w"}[kind]
    data = yaml.safe_load((data_root() / kind / f"{name}.yaml").read_text(encoding="utf-8"))
    path, refused = tmp_path / f"{name}.yaml", 0
    for index, place in enumerate(list(places(data))[:: 1 if ALL else 3]):
        value = VALUES[index % len(VALUES)]
        path.write_text(yaml.safe_dump(put(data, place, value), allow_unicode=True), encoding="utf-8")
        checked = check_table_file(path, start=tmp_path)
        refused += not checked.ok
        assert all(str(error).strip() for error in checked.errors)
    assert refused > 5


def logged(read: Callable[[Any], dict[str, Any]], written: object, what: object) -> bool:
    """Whether an entry comes of what is read; it is refused with a sentence or not at all."""
    try:
        fields = read(written)
        entry_from({"when": datetime.now(UTC), "outcome": "good", **fields, **fill.from_tables(fields)})
    except MillcalcError as error:
        assert str(error).strip(), what
        return False
    return True


def test_every_place_of_what_settings_wrote(tmp_path: Path) -> None:
    judged = ["--rpm", "12000", "--feed", "300", "--ap", "0.4", "--ae", "6", "--json"]
    data = json.loads(run(["settings", *WAY, *judged], tmp_path).stdout)
    refused = taken = 0
    for index, place in enumerate(places(data)):
        for value in _some(5 * index):
            if logged(fill.from_settings, put(data, place, value), (place, value)):
                taken += 1
            else:
                refused += 1
    assert refused > 3 and taken > 100
    (tmp_path / "cut.json").write_text(
        json.dumps(put(data, ("settings", "feed_mm_min"), 1e-320)), encoding="utf-8"
    )
    ended = run(["log", "add", "--from-settings", "cut.json", "--outcome", "good"], tmp_path)
    assert ended.returncode == 2 and "feed_mm_min: found 1e-320" in ended.stderr


def test_every_place_of_what_a_check_wrote(tmp_path: Path) -> None:
    plate = demo_root() / "sensor_plate"
    ended = run(["check", str(plate / "good.nc"), "--job", str(plate / "job.yaml"), "--json"], tmp_path)
    data = json.loads(ended.stdout)
    data = {name: data[name] for name in ("format", "schema", "program", "setup", "times") if name in data}
    others: tuple[Any, ...] = ("x", "", True, [], [[]], {}, {"a": [1]}, None, 10**400, 1e308, "\x1b[2J")
    refused = taken = 0
    for index, place in enumerate(places(data)):
        for value in {id(one): one for k in (0, 3, 7) for one in _some(index + k, others)}.values():
            if logged(fill.from_check, put(data, place, value), (place, value)):
                taken += 1
            else:
                refused += 1
    assert min(refused, taken) > (100 if ALL else 30)
    tool = data["program"]["tools"][0]["number"]
    for value in ("1.5", [[]], True):
        wrong = put(data, ("program", "tools", 0, "radial_width_mm"), value)
        (tmp_path / "check.json").write_text(json.dumps(wrong), encoding="utf-8")
        ended = run(
            ["log", "add", "--from-check", "check.json", "--tool", str(tool), "--outcome", "good"], tmp_path
        )
        assert ended.returncode == 2
        assert (
            f"radial_width_mm: found {value!r}; accepted: a number; do: let millcalc write the file"
            in ended.stderr
        )


BASE: dict[str, list[str]] = {
    "add": [*WAY, "--outcome", "good"], "list": [], "similar": [*WAY], "learn": [], "stats": [], "wear": [],
    "edit": ["1"], "machine-changed": ["plate"], "show": [], "remove": [], "export": ["--force"], "import": [],
    "backup": ["--force"], "restore": [], "recover": ["--force"],
}  # fmt: skip
OPTIONS: dict[str, list[str]] = {
    "add": ["--rpm", "--feed", "--ap", "--ae", "--stickout", "--outcome", "--symptom", "--notes", "--tool",
            "--machine", "--material", "--cutter", "--from-settings", "--from-check", "--from-program", "--set"],
    "list": ["--machine", "--text", "--program", "--since", "--until", "--limit", "--units", "--outcome"],
    "similar": ["--rpm", "--feed", "--ap", "--ae", "--stickout", "--like", "--count", "--set"],
    "learn": ["--machine", "--material"], "stats": ["--cutter", "-o"], "wear": ["--cutter"],
    "edit": ["--set"], "machine-changed": ["--machine", "--since"], "show": [""], "remove": [""], "export": ["-o"],
    "import": ["", "--map"], "backup": ["-o"], "restore": [""], "recover": ["-o"],
}  # fmt: skip
TYPED = ("1e-320", "", "0", "-1", "1e999", "nan", "inf", "x", "\x1b[2J", "\u202e", "9" * 400, "a=b=c",
         "feed_mm_min=1e-320", "when=9999-12-31T23:59:59-23:59", "shares={}", "share_power=nan", "flutes=1e400",
         "uid=x", "0001-01-01", "none/none.db", ".", "1/0 in", "\u0661")  # fmt: skip


def test_every_option_of_the_log(tmp_path: Path) -> None:
    log = tmp_path / "none" / "cuts.db"  # the one that the helper names
    assert run(["log", "add", *BASE["add"]], tmp_path).returncode == 0
    shutil.copyfile(log, tmp_path / "whole.db")
    pairs = [(command, option) for command, options in OPTIONS.items() for option in options]
    for index, (command, option) in enumerate(pairs[:: 1 if ALL else 2]):
        for value in _some(index, TYPED):
            words = ["log", command, *([option] if option else []), value, *BASE[command]]
            ended = run(words, tmp_path)
            assert ended.returncode in (0, 1, 2), (words, ended.stderr)
            assert "Traceback" not in ended.stderr and "\x1b" not in ended.stdout + ended.stderr, words
            assert ended.returncode != 2 or ended.stderr.strip(), words
            if command in ("restore", "recover", "backup", "export", "import"):
                shutil.copyfile(tmp_path / "whole.db", log)
    assert run(["log", "verify"], tmp_path).returncode == 0
