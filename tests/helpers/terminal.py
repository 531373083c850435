"""Run millcalc at a terminal: a pseudo-terminal whose person types the answers."""

from __future__ import annotations

import os
import select
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.helpers.command import config_folder


def typed(
    arguments: Sequence[str], answers: Sequence[str], cwd: Path, columns: int = 80, **environment: str
) -> tuple[int, str]:
    """Run a command at a terminal, in a process of its own.

    arguments: After ``millcalc``.
    answers: Lines that are typed, each when the one before it has been read.
    cwd: Working folder.
    columns: Width of the terminal [-].
    **environment: Further variables.
    Returns: Exit code, and what stood on the terminal.
    """
    pty = pytest.importorskip("pty", reason="no pseudo-terminal on this system")
    import fcntl
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    env = {**os.environ, **config_folder(cwd / "none"), "TERM": "xterm", "NO_COLOR": "1", **environment}
    env.pop("COLUMNS", None)
    child = subprocess.Popen(
        [sys.executable, "-m", "millcalc", *arguments], cwd=cwd, env=env, stdin=theirs, stdout=theirs,
        stderr=theirs, close_fds=True, start_new_session=True,
    )  # fmt: skip
    os.close(theirs)
    left = list(answers)
    read, until = b"", time.monotonic() + 120
    while time.monotonic() < until:
        if not select.select([ours], [], [], 0.2)[0]:
            if child.poll() is not None:
                break
            continue
        try:
            part = os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if not part:
            break
        read += part
        if left and read.endswith((b"> ", b": ")):  # a prompt
            os.write(ours, f"{left.pop(0)}\n".encode())
    code = child.wait(30)
    os.close(ours)
    return code, read.decode("utf-8", "replace").replace("\r\n", "\n")
