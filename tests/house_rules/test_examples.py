"""The examples in docstrings give what they show."""

from __future__ import annotations

import doctest
import importlib

import pytest

from tests.helpers.sources import ROOT, modules, text_of


def _shown() -> dict[str, str]:
    """Name of every module that shows an example, by its file."""
    found = {}
    for path in modules():
        if "    >>> " in text_of(path):
            parts = path.relative_to(ROOT.parent).with_suffix("").parts
            found[path.relative_to(ROOT).as_posix()] = ".".join(p for p in parts if p != "__init__")
    return found


SHOWN = _shown()


@pytest.mark.parametrize("file", SHOWN)
def test_an_example_gives_what_it_shows(file: str, capsys: pytest.CaptureFixture[str]) -> None:
    told = doctest.testmod(importlib.import_module(SHOWN[file]))
    assert told.attempted and not told.failed, capsys.readouterr().out


def test_examples_are_found_and_a_wrong_one_is_seen() -> None:
    assert len(SHOWN) > 60
    wrong = doctest.DocTestParser().get_doctest(">>> 1 + 1\n3\n", {}, "wrong", None, 0)
    assert doctest.DocTestRunner(verbose=False).run(wrong, out=lambda _: None).failed == 1
