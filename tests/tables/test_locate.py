"""Folders by platform."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from millcalc.tables import config_root, data_root, demo_root


def test_shipped_folders_exist() -> None:
    assert (data_root() / "sources.yaml").is_file()
    assert demo_root().name == "demo_jobs"


@pytest.mark.parametrize(
    ("platform", "variable", "expected"),
    [
        ("win32", "APPDATA", ("there", "millcalc")),
        ("linux", "XDG_CONFIG_HOME", ("there", "millcalc")),
        ("darwin", "XDG_CONFIG_HOME", ("Library", "Application Support", "millcalc")),
    ],
)
def test_settings_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, platform: str, variable: str, expected: tuple[str, ...]
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setenv(variable, str(tmp_path / "there"))
    assert config_root().parts[-len(expected) :] == expected


@pytest.mark.parametrize(("platform", "last"), [("win32", "Roaming"), ("linux", ".config")])
def test_settings_folder_without_the_variable(
    monkeypatch: pytest.MonkeyPatch, platform: str, last: str
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    for variable in ("APPDATA", "XDG_CONFIG_HOME"):
        monkeypatch.delenv(variable, raising=False)
    assert config_root().parent.name == last


def test_an_installed_package_carries_its_own_tables(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("millcalc.tables.locate._PACKAGE", tmp_path / "millcalc")
    assert data_root() == tmp_path / "materials"
    (tmp_path / "millcalc" / "_data" / "materials").mkdir(parents=True)
    assert data_root() == tmp_path / "millcalc" / "_data" / "materials"
    assert demo_root() == tmp_path / "demo_jobs"
