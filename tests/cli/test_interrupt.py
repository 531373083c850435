"""Ctrl-C ends a command within a second with 130, in compiled loops too, and leaves nothing half-written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from millcalc.cli import interrupt
from millcalc.files import new_file, new_folder, remove_parts

ROOT = Path(__file__).parents[2]
# stands in for a compiled loop or a slow call of a library: KeyboardInterrupt is not raised before it returns
BUSY = """
import sys, time, numba
from pathlib import Path
import millcalc.cli.main as main
from millcalc.files import new_file
from millcalc.kernels import kernel

@numba.njit(nogil=True)
def busy(turns):
    total = 0.0
    for k in range(turns):
        total += (k % 7) ** 0.5
    return total

busy(1)

def app(**_):
    with new_file(Path("out.nc")) as part:
        part.write_text("half of it")
        print("begun", flush=True)
        LOOP
main.app = app
main.main()
"""


def _stopped(code: str, folder: Path) -> tuple[int, str, float]:
    process = subprocess.Popen(
        [sys.executable, "-c", code],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout is not None and process.stdout.readline() == "begun\n"
        begun = time.perf_counter()
        process.send_signal(signal.SIGINT)
        _, error = process.communicate(timeout=60)
    finally:
        process.kill()  # what does not end would run for ever
    return process.returncode, error, time.perf_counter() - begun


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
@pytest.mark.parametrize("loop", ["busy(10**11)", "time.sleep(60)", "exec('while True: pass')"])
def test_the_process_ends_with_130_and_leaves_nothing(loop: str, tmp_path: Path) -> None:
    code, error, seconds = _stopped(BUSY.replace("LOOP", loop), tmp_path)
    assert code == interrupt.STOPPED and error.strip() == interrupt.TOLD
    assert seconds < 5.0  # under one where the machine is quiet
    assert not list(tmp_path.iterdir())


def test_every_kernel_leaves_the_lock(monkeypatch: pytest.MonkeyPatch) -> None:
    from millcalc.gcode.read_kernels import read_plain
    from millcalc.stock.walk_kernels import walk

    for kernel in (read_plain, walk):
        assert getattr(kernel, "targetoptions", {"nogil": True})["nogil"]


def test_parts_are_removed(tmp_path: Path) -> None:
    with new_file(tmp_path / "a.nc") as part, new_folder(tmp_path / "b") as folder:
        (folder / "c.nc").write_text("c", encoding="utf-8")
        assert part.exists()
        remove_parts()
        assert not list(tmp_path.iterdir())
        part.touch()  # so that the end finds it
        folder.mkdir()
