"""Job files as people write them: what is read, and every refusal with its line and words."""

from __future__ import annotations

import math
import os
import sys
from pathlib import Path

import pytest

from millcalc.errors import InputError, JobError, ManyErrors
from millcalc.job import load_job, parse_job

FULL = """\
title: test plate
machine: gantry-800w
material: 6082
stock: {size_x: 160, size_y: 110 mm, thickness: "1/4 in"}
zero: {xy: front-left, z: stock top, offset_x: -5}
screws:
  - {x: 8, y: -8, size: M4 pan, placed: measured}
  - {x: 8, y: -8, size: M4 pan}
clamps: none
cutters:
  T1: {cutter: flat-6mm-1f, stickout: 22}
  2: flat-3mm-1f
"""


def test_a_job_is_read_with_its_units() -> None:
    job = parse_job(FULL)
    assert job.stock.size_x_mm == 160.0
    assert job.stock.thickness_mm == 6.35
    assert job.zero.offset_x_mm == -5.0
    assert job.material == "6082"
    assert job.clamps == ()
    assert sorted(job.cutters) == [1, 2]
    assert job.cutters[1].stickout_mm == 22.0
    assert job.cutters[2].cutter == "flat-3mm-1f"
    assert job.screws is not None
    assert job.screws[0].y_mm == -8.0
    assert job.screws[1].placed == "guessed"  # two screws at one place are allowed


def test_bare_numbers_are_inches_in_a_file_in_inches() -> None:
    job = parse_job("units: in\nstock: {size_x: 6, thickness: 6 mm}\nscrews: [{x: 1/2, y: -0.25}]\n")
    assert job.stock.size_x_mm == 152.4
    assert job.stock.thickness_mm == 6.0
    assert job.screws is not None
    assert (job.screws[0].x_mm, job.screws[0].y_mm) == (12.7, -6.35)


def test_names_with_mm_mean_mm() -> None:
    assert parse_job("stock: {thickness_mm: 6}").stock.thickness_mm == 6.0
    with pytest.raises(JobError, match="a name that says mm, in a file in inches"):
        parse_job("units: in\nstock: {thickness_mm: 0.25}")


@pytest.mark.parametrize("word", ["unknown", "'?'", "null", "~", ""])
def test_unknown_is_unknown(word: str) -> None:
    text = f"material: {word}\nscrews: {word}\nstock:\n  thickness: {word}\nbed:\n  below: {word}\n"
    job = parse_job(text)
    assert job.material is None
    assert job.screws is None
    assert job.stock.thickness_mm is None
    assert job.bed.below is None


def test_an_empty_field_keeps_its_default() -> None:
    assert parse_job("bed:\n  allowance:\ntitle:\n").bed.allowance_mm == 0.5


REFUSED = [
    ("stock: {thickness: -3}", 1, "stock.thickness_mm", "above 0"),
    ("\nstock: {size_x: 0}", 2, "stock.size_x_mm", "above 0"),
    ("stock: {thickness: .nan}", 1, "stock.thickness", "finite"),
    ("stock: {thickness: .inf}", 1, "stock.thickness", "finite"),
    ("stock: {thickness: nan}", 1, "stock.thickness", "not a number"),
    ("stock: {thickness: '2,5'}", 1, "stock.thickness", "accepted: 2.5"),
    ("stock: {thickness: 2,5}", 1, "stock.5", "decimal comma"),
    ("stock: {thickness: true}", 1, "stock.thickness", "found True"),
    ("stock: {thickness: [6]}", 1, "stock.thickness", "found [6]"),
    ("stock: {thickness: 6 furlong}", 1, "stock.thickness", "units: mm"),
    ("stock: 6", 1, "stock", "a group of 'field: value' lines"),
    ("stock: {thickness: 2, thickness_mm: 3}", 1, "stock.thickness_mm", "the same field twice"),
    ("stok: {thickness: 3}", 1, "stok", "write stock"),
    ("title: x\nunits: furlong", 2, "units", "mm or in"),
    ("units: [mm]", 1, "units", "mm or in"),
    ("cutters: {1: {cutter: a, flutes: 0}}", 1, "cutters.1.flutes", "not below 1"),
    ("cutters: {1: {cutter: a, flutes: two}}", 1, "cutters.1.flutes", "a whole number"),
    ("cutters:\n  1: {stickout: 20}", 2, "cutters.1.cutter", "this field is needed"),
    ("cutters: {x1: a}", 1, "cutters.x1", "a whole number such as 1 or T1"),
    ("cutters: {-1: a}", 1, "cutters.-1", "a whole number such as 1 or T1"),
    ("cutters: {1: a, T1: b}", 1, "cutters.T1", "each tool number once"),
    ("cutters: [a]", 1, "cutters", "a group of"),
    ("zero: {xy: left}", 1, "zero.xy", "'front-left'"),
    ("screws: 4", 1, "screws", "a list"),
    ("screws:\n  - {x: 1}", 2, "screws[1].y_mm", "this field is needed"),
    ("screws:\n  - {x: 1, y: 2}\n  - {x: 1, y: 2, size: M4}", 3, "screws[2].size", "M4 pan, M4 countersunk"),
    ("screws: [{x: 1, y: 2, size: banana}]", 1, "screws[1].size", "wood 4.0"),
    ("screws: [{x: 1, y: 2, head_diameter: 4, shank_diameter: 5}]", 1, "screws[1].shank_diameter_mm", "head"),
    ("clamps: [{x_min: 3, x_max: 1, y_min: 0, y_max: 2}]", 1, "clamps[1].x_max_mm", "above x_min"),
    ("stock: {thickness: 2, thickness_spread: 3}", 1, "stock.thickness_spread_mm", "less than its thickness"),
    ("quiet: [{code: A-1}]", 1, "quiet[1].reason", "this field is needed"),
    ("quiet: [{code: A-1, reason: x}]", 1, "quiet[1].reason", "at least 3 characters"),
    ("proven: perhaps", 1, "proven", "true or false"),
    ("a: [", 1, None, "not YAML"),
    ("title: a\ntitle: b", 2, "title", "first in line 1"),
    ("- 3", 1, None, "found a list"),
    ("3", 1, None, "found a single value"),
    ("# only a remark", None, None, "without any field"),
    ("a: &x [*x]", 1, "a[1]", "contains itself"),
    ("a: !!python/object/apply:os.system [ls]", 1, "a", "not known"),
    ("<<: {title: a}", 1, None, "merge key"),
    ("? [a]\n: b", 1, None, "used as a field name"),
]


@pytest.mark.parametrize(("text", "line", "field", "says"), REFUSED)
def test_what_does_not_fit_is_refused(text: str, line: int | None, field: str | None, says: str) -> None:
    with pytest.raises(JobError) as caught:
        parse_job(text, "job.yaml")
    error = caught.value
    assert error.file == "job.yaml"
    assert says in str(error)
    assert field is None or error.field == field
    assert line is None or error.line in (
        line,
        line + 1,
    )  # an unclosed bracket is seen at the end of the text
    assert error.exit_code == 2
    assert len(str(error)) < 600


def test_several_problems_are_told_together() -> None:
    with pytest.raises(ManyErrors) as caught:
        parse_job("stock: {thickness: -1, size_x: -2}\nzero: {z: bed}\n", "job.yaml")
    assert [error.line for error in caught.value.errors] == [1, 1, 2]
    assert str(caught.value).count("job.yaml:") == 3


@pytest.mark.parametrize("text", ["[" * 5000, "a: {" * 3000, "a: " + "9" * 5000, "- " * 4000, "? " * 4000])
def test_hostile_text_gives_an_error_not_a_traceback(text: str) -> None:
    with pytest.raises(InputError):
        parse_job(text)


def test_aliases_cannot_unfold_without_end() -> None:
    levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    levels += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 9)]
    with pytest.raises(JobError, match="more than 200000 values"):
        parse_job("\n".join(levels))


# --- the file itself --------------------------------------------------------------------------------


def refused(path: Path) -> str:
    with pytest.raises(JobError) as caught:
        load_job(path)
    assert caught.value.file == str(path)
    return str(caught.value)


def test_absent_empty_binary_and_folder(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "none.yaml")
    assert "a directory" in refused(tmp_path)
    file = tmp_path / "job.yaml"
    file.write_bytes(b"")
    assert "an empty file" in refused(file)
    file.write_bytes(b" \n\n")
    assert "an empty file" in refused(file)
    file.write_bytes(b"\x7fELF\0\0\1")
    assert "a binary file" in refused(file)
    file.write_bytes(b"title: a\nnotes: \xe9t\xe9\n")
    assert "not UTF-8 (0xe9)" in refused(file)
    assert f"{file}:2" in refused(file)
    file.write_bytes(b"#" * 5_000_001)
    assert "5000001 bytes" in refused(file)


def test_a_byte_order_mark_and_other_line_ends_are_read(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    file.write_bytes("title: Größe\r\nstock:\r\n  thickness: 6\r\n".encode("utf-8-sig"))
    job = load_job(str(file))
    assert job.title == "Größe"
    assert job.stock.thickness_mm == 6.0


@pytest.mark.skipif(
    sys.platform == "win32" or not hasattr(os, "geteuid"), reason="file permissions of a Unix"
)
def test_unreadable(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    file.write_text("title: a\n", encoding="utf-8")
    file.chmod(0)
    if os.geteuid() == 0:
        pytest.skip("the administrator reads everything")
    assert "cannot be read" in refused(file)


def test_a_read_that_fails_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "job.yaml"
    file.write_text("title: a\n", encoding="utf-8")

    def deny(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", deny)
    assert "cannot be read (Permission denied)" in refused(file)


def test_no_number_of_a_loaded_job_is_undefined() -> None:
    job = parse_job(FULL)
    assert all(math.isfinite(v) for v in job.stock.model_dump().values() if v is not None)
