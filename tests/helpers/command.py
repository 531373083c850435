"""Run millcalc as a person does on a pipe: in this process for speed, or in one of its own."""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from unittest import mock


def config_folder(path: Path) -> dict[str, str]:
    """Environment that keeps the person's own tables and log out of the tests, on every platform."""
    return {
        "XDG_CONFIG_HOME": str(path),
        "APPDATA": str(path),
        "HOME": str(path),
        "MILLCALC_LOG": str(path / "cuts.db"),
    }


def _environment(cwd: Path, extra: dict[str, str]) -> dict[str, str]:
    return {**os.environ, **config_folder(cwd / "none"), **extra}


@contextlib.contextmanager
def _inside(folder: Path) -> Iterator[None]:
    here = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(here)


def run(
    arguments: list[str], cwd: Path, encoding: str = "utf-8", **environment: str
) -> subprocess.CompletedProcess[str]:
    """Run millcalc in a folder, as on a pipe, within this process."""
    from millcalc.cli import main

    streams = [io.TextIOWrapper(io.BytesIO(), encoding=encoding, newline="") for _ in range(2)]
    code: object = 0
    with (
        _inside(cwd),
        mock.patch.dict(os.environ, _environment(cwd, environment)),
        mock.patch.object(sys, "argv", ["millcalc", *arguments]),
        mock.patch.object(sys, "stdin", io.StringIO("")),
        contextlib.redirect_stdout(streams[0]),
        contextlib.redirect_stderr(streams[1]),
    ):
        try:
            main.run()
        except SystemExit as stop:
            code = stop.code
    texts = []
    for stream in streams:
        stream.flush()
        texts.append(stream.buffer.getvalue().decode(encoding))  # type: ignore[attr-defined]
    number = code if isinstance(code, int) else int(code is not None)
    return subprocess.CompletedProcess(["millcalc", *arguments], number, texts[0], texts[1])


def flat(text: str) -> str:
    """A text on one line: what is said, wherever its lines are broken."""
    return " ".join(text.split())


def run_apart(
    arguments: list[str], cwd: Path, encoding: str = "utf-8", **environment: str
) -> subprocess.CompletedProcess[str]:
    """Run millcalc in a folder, as on a pipe, in a process of its own."""
    env = {**_environment(cwd, environment), "PYTHONIOENCODING": encoding}
    return subprocess.run(
        [sys.executable, "-m", "millcalc", *arguments],
        cwd=cwd,
        capture_output=True,
        text=True,
        encoding=encoding,
        env=env,
        check=False,
    )
