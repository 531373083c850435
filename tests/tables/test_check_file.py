"""The check of a single table file, of any kind, wherever it lies."""

from __future__ import annotations

from pathlib import Path

import pytest

from millcalc.tables import check_table_file, data_root
from millcalc.tables.names import KINDS
from tests.tables.conftest import Write


@pytest.mark.parametrize("kind", KINDS)
def test_kind_is_seen_from_the_content_wherever_the_file_lies(put: Write, kind: str) -> None:
    for path in sorted((data_root() / kind).glob("*.yaml"))[:3]:
        copy = put(f"elsewhere/{path.name}", path.read_text(encoding="utf-8"))
        check = check_table_file(copy)
        assert check.ok, check.errors
        assert (check.kind, check.name) == (kind, path.stem)
        assert any("not the one in use" in note for note in check.notes)


def test_shipped_files_of_every_other_kind() -> None:
    assert check_table_file(data_root() / "sources.yaml").kind == "sources"
    assert check_table_file(data_root() / "cautions.yaml").notes == ["22 entries"]


def test_notes_say_what_a_person_should_know(put: Write) -> None:
    path = put("materials/machines/gantry-800w.yaml", "based_on: gantry-800w\ntitle: Mine\n")
    notes = " ".join(check_table_file(path).notes)
    assert "estimates or from memory" in notes
    assert "taken from gantry-800w" in notes
    assert "typical" in notes
    assert "takes the place of" in notes
    loose = put("new-router.yaml", "based_on: gantry-800w\n")
    check = check_table_file(loose)
    assert check.kind == "machines"
    assert any("materials/machines/" in note for note in check.notes)


def test_shop(put: Write) -> None:
    assert check_table_file(put("shop.yaml", "machine: gantry-800w\ncutters: [flat-6mm-1f]\n")).ok
    other = put("other.yaml", "machine: gantry-80w\ncutters: [flat-6mm-1f]\n")
    check = check_table_file(other)
    assert (check.kind, check.ok) == ("shop", False)


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "empty"),
        (b"\x7fELF\x00\x00", "binary"),
        (b"\xff\xfe\xfd", "UTF-8"),
        (b"recipe: soup\n", "no kind of table"),
        (b"[1, 2]\n", "no kind of table"),
        (b"a: [\n", "not YAML"),
    ],
)
def test_unusable_files(tmp_path: Path, data: bytes, found: str) -> None:
    path = tmp_path / "some.yaml"
    path.write_bytes(data)
    check = check_table_file(path)
    assert not check.ok
    assert found in check.errors[0].found
    assert check.errors[0].file == str(path)


def test_absent_and_directory(tmp_path: Path) -> None:
    assert "no such file" in check_table_file(tmp_path / "none.yaml").errors[0].found
    assert "directory" in check_table_file(tmp_path).errors[0].found
