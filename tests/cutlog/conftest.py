"""A log of its own for every test, and never the person's."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from millcalc.cutlog.store import Log

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(autouse=True)
def _own_log_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("MILLCALC_LOG", str(tmp_path / "mine" / "cuts.db"))
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="session")
def _empty_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("empty") / "cuts.db"
    Log(path).close()
    return path


@pytest.fixture
def log(tmp_path: Path, _empty_log: Path) -> Iterator[Log]:
    shutil.copyfile(_empty_log, tmp_path / "cuts.db")
    with Log(tmp_path / "cuts.db", who="tester") as opened:
        yield opened
