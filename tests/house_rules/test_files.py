"""Files stand where they were agreed to, and name no path of any machine."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def _tracked() -> list[Path]:
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True
        ).stdout.decode("utf-8")
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("not a git checkout")
    return [ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()]


def test_no_machine_path_in_the_project() -> None:
    path_of_a_machine = re.compile(rb"(?:^|[^A-Za-z0-9_.])/(?:" + rb"work|farm|root|opt/mc" + rb")[/-]")
    for path in _tracked():
        if "corpus" in path.parts or path == Path(__file__):
            continue
        assert not path_of_a_machine.search(path.read_bytes()), path


def test_top_level_is_as_agreed() -> None:
    allowed = {
        "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml", ".gitignore", ".ci",
        "millcalc", "materials", "tests", "demo_jobs", "benchmarks", "docs",
    }  # fmt: skip
    found = {path.relative_to(ROOT).parts[0] for path in _tracked()}
    assert found <= allowed, found - allowed
