"""A visitor who was let in to a page of its own, with a log of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.page.doors import Visitor, make_door


@pytest.fixture
def me(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Visitor:
    for name, value in {"XDG_CONFIG_HOME": "none", "MILLCALC_LOG": "cuts.db"}.items():
        monkeypatch.setenv(name, str(tmp_path / value))
    monkeypatch.chdir(tmp_path)
    return Visitor(make_door(tmp_path))
