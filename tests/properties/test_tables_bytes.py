"""Any bytes at all as a table file end in errors with a place, never in an exception."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from millcalc.tables import check_table_file, data_root

TEXT = (data_root() / "cutters" / "vee-60-6mm.yaml").read_bytes()
QUIET = [HealthCheck.function_scoped_fixture]


@settings(max_examples=60, deadline=None, database=None, suppress_health_check=QUIET)
@given(data=st.binary(max_size=400) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")))
def test_any_bytes(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "some.yaml"
    path.write_bytes(data)
    check = check_table_file(path, start=tmp_path)
    assert check.errors
    assert all(error.file == str(path) for error in check.errors)


@settings(max_examples=80, deadline=None, database=None, suppress_health_check=QUIET)
@given(
    at=st.integers(0, len(TEXT) - 1),
    length=st.integers(0, 12),
    new=st.sampled_from(
        [b"", b"0", b"-1", b"{", b"]", b"null", b"true", b".nan", b"1e999", b"'", b"\n", b": ", b"\xff"]
    ),
)
def test_a_damaged_table(tmp_path: Path, at: int, length: int, new: bytes) -> None:
    path = tmp_path / "vee-60-6mm.yaml"
    path.write_bytes(TEXT[:at] + new + TEXT[at + length :])
    check = check_table_file(path, start=tmp_path)
    assert check.ok or all(error.found and error.file == str(path) for error in check.errors)


@pytest.mark.parametrize("depth", [30, 500, 50_000])
def test_deep_nesting(tmp_path: Path, depth: int) -> None:
    path = tmp_path / "some.yaml"
    for text in ("a: " + "[" * depth + "]" * depth, "a: " + "{b: " * depth + "}" * depth, "- " * depth + "x"):
        path.write_text(text, encoding="utf-8")
        assert check_table_file(path, start=tmp_path).errors
