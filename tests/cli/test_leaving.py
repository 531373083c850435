"""A process of millcalc ends at once, with its exit code, all of its output and what was registered for the end."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PROGRAM = """
import atexit, sys, threading, time
sys.path.insert(0, {root!r})
import millcalc.cli.main as main
{before}
main.app = lambda standalone_mode: (print("written"), sys.exit({code}))[1]
main.main()
"""


def _ended(code: str, before: str = "") -> tuple[int, list[str], str]:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM.format(root=str(ROOT), code=code, before=before)],
        capture_output=True,
        text=True,
        timeout=60,
    )
    return done.returncode, done.stdout.split(), done.stderr


@pytest.mark.parametrize(("code", "wanted"), [("0", 0), ("1", 1), ("2", 2), ("None", 0)])
def test_the_exit_code_and_the_output_are_those_of_the_command(code: str, wanted: int) -> None:
    assert _ended(code) == (wanted, ["written"], "")


def test_what_was_registered_for_the_end_is_done() -> None:
    assert _ended("1", "atexit.register(print, 'registered')") == (1, ["written", "registered"], "")


def test_another_thread_is_waited_for() -> None:
    before = "threading.Thread(target=lambda: (time.sleep(0.3), print('thread'))).start()"
    assert _ended("0", before) == (0, ["written", "thread"], "")


def test_a_message_instead_of_a_code_is_printed() -> None:
    assert _ended("'why'") == (1, ["written"], "why\n")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_output_that_cannot_be_written_is_an_error() -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM.format(root=str(ROOT), code="0", before="")],
            stdout=full,
            stderr=subprocess.PIPE,
        )
    assert done.returncode != 0
