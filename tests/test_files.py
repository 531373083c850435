"""Files that are written: the mode of a new file, on the disk, over nothing unasked, no device, no input."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from millcalc import files
from millcalc.errors import InputError
from millcalc.files import new_file, refuse_odd, refuse_target
from millcalc.gcode.source import read_bytes
from millcalc.tables.yaml_lines import read_text

posix = pytest.mark.skipif(os.name != "posix", reason="pipes and modes of POSIX")


def _write(target: Path, text: str = "new", **how: object) -> None:
    with new_file(target, **how) as part:  # type: ignore[arg-type]
        part.write_text(text, encoding="utf-8")


@posix
@pytest.mark.parametrize(("mask", "mode"), [(0o022, 0o644), (0o027, 0o640), (0o077, 0o600)])
@pytest.mark.parametrize("replace", [True, False])
def test_mode_is_that_of_a_new_file(tmp_path: Path, mask: int, mode: int, replace: bool) -> None:
    old = os.umask(mask)
    try:
        _write(tmp_path / "a.nc", replace=replace)
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "a.nc").stat().st_mode) == mode
    assert [path.name for path in tmp_path.iterdir()] == ["a.nc"]


@pytest.mark.parametrize("links", [True, False])
def test_a_file_that_appears_meanwhile_is_not_replaced(
    tmp_path: Path, links: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "a.nc"
    if not links:
        monkeypatch.setattr(os, "link", lambda *_: (_ for _ in ()).throw(OSError("no links here")))
    looked = []

    def late(path: Path, **how: object) -> None:
        refuse_target(path, **how)  # type: ignore[arg-type]
        looked.append(path)
        if len(looked) == 2:  # after the last look, before the name is given
            path.write_text("theirs", encoding="utf-8")

    monkeypatch.setattr(files, "refuse_target", late)
    with pytest.raises(InputError, match="a file of that name; accepted: a new name, or --force"):
        _write(target)
    assert target.read_text(encoding="utf-8") == "theirs" and len(list(tmp_path.iterdir())) == 1


def test_without_links_a_new_file_is_still_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "link", lambda *_: (_ for _ in ()).throw(OSError("no links here")))
    _write(tmp_path / "a.nc")
    assert (tmp_path / "a.nc").read_text(encoding="utf-8") == "new"


def test_flushed_before_it_has_the_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target, seen = tmp_path / "a.nc", []
    flush = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: (seen.append(target.exists()), flush(handle))[1])
    _write(target)
    assert seen[0] is False


def test_an_input_is_never_written_over(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    job.write_text("units: mm\n", encoding="utf-8")
    with pytest.raises(InputError, match="a file that is read in this run"):
        _write(job, replace=True, inputs=(None, job))
    assert job.read_text(encoding="utf-8") == "units: mm\n"


def test_an_error_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt), new_file(tmp_path / "a.nc"):
        raise KeyboardInterrupt
    assert not list(tmp_path.iterdir())
    with pytest.raises(InputError, match="a folder that can be written to"):
        _write(tmp_path / "none" / "a.nc")


@posix
@pytest.mark.parametrize("replace", [True, False])
def test_a_pipe_is_neither_read_nor_replaced(tmp_path: Path, replace: bool) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for act in (
        lambda: refuse_odd(pipe),
        lambda: _write(pipe, replace=replace),
        lambda: read_bytes(pipe),
        lambda: read_text(pipe),
        lambda: read_bytes(Path("/dev/zero")),
    ):
        with pytest.raises(InputError, match="a device, pipe or socket; accepted: an ordinary file"):
            act()
    assert stat.S_ISFIFO(pipe.stat().st_mode)
