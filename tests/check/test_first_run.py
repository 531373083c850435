"""The first run: a second process compiles what the check needs last, and the check loads it."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from millcalc.check import first_run
from millcalc.check.run import look_at
from millcalc.cli.common import compile_notice
from millcalc.tables import demo_root

numba = pytest.importorskip("numba")
ROOT = Path(__file__).parents[2]
JOB = demo_root() / "sensor_plate" / "job.yaml"

pytestmark = pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="nothing is compiled")


def _run(words: list[str], cache: Path) -> subprocess.CompletedProcess[str]:
    surroundings = dict(os.environ, NUMBA_CACHE_DIR=str(cache), PYTHONPATH=str(ROOT))
    return subprocess.run(
        [sys.executable, *words], env=surroundings, cwd=cache, capture_output=True, text=True, timeout=600
    )


def _kept(cache: Path) -> set[str]:
    return {path.name.split("-")[0] for path in cache.rglob("*.nbc")}


def test_what_the_second_process_keeps_is_what_the_check_would_compile(tmp_path: Path) -> None:
    assert _run(["-m", "millcalc.check.first_run", *first_run.AFTER_READING], tmp_path).returncode == 0
    made = _kept(tmp_path)
    assert {"walk_kernels.walk", "geometry_kernels.distances", "pieces_kernels.add_back"} <= made
    stamp = max(path.stat().st_mtime_ns for path in tmp_path.rglob("*.nbi"))
    done = _run(["-m", "millcalc", "check", "--job", str(JOB)], tmp_path)
    assert done.returncode in (0, 1), done.stderr
    assert _kept(tmp_path) - made <= {
        "path_kernels.reached",
        "grid_kernels.fill_stock",
        "engagement_kernels.reset_window",
    }, "these are small and needed at once; all else the second process should have kept"
    again = {path.name.split("-")[0] for path in tmp_path.rglob("*.nbi") if path.stat().st_mtime_ns > stamp}
    assert not again & made, "kept for other arguments than the check has"


def test_it_asks_for_the_kernels_of_a_check_and_no_others() -> None:
    """The quick one of the same: what the check has compiled or loaded, the second process finds on disk."""
    look_at(JOB.parent / "good.nc", JOB)
    before = _misses()
    first_run.main([*first_run.AFTER_CUTTING, *first_run.AFTER_READING])
    assert _misses() == before


def _misses() -> dict[str, int]:
    """How often each kernel had to be compiled in this process, the inlined ones too."""
    found = {}
    for module in ("stock.walk", "stock.removal", "stock.pieces", "stock.region", "stock.grid", "preflight.feed",
                   "preflight.geometry"):  # fmt: skip
        for name, kernel in vars(import_module(f"millcalc.{module}_kernels")).items():
            if hasattr(kernel, "stats"):
                found[f"{module}.{name}"] = sum(kernel.stats.cache_misses.values())
    return found


@pytest.mark.parametrize(("count", "keeps"), [(1, True), (2, False)])
def test_one_processor_or_one_that_keeps_nothing_compiles_alone(
    count: int, keeps: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(first_run, "processors", lambda: count)
    monkeypatch.setattr(first_run, "can_keep", lambda: keeps)
    monkeypatch.setattr(subprocess, "Popen", lambda *given, **more: pytest.fail("a process was started"))
    assert first_run.begin(reads=False) is False


@pytest.mark.parametrize(
    ("started", "said"), [(True, "arithmetic, in two processes, which"), (False, "arithmetic, which")]
)
def test_the_first_run_says_what_it_does(
    started: bool, said: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = []
    monkeypatch.setattr("millcalc.kernels.needs_compile", lambda *modules: True)
    monkeypatch.setattr(first_run, "begin", lambda *, reads: asked.append(reads) or started)
    compile_notice(simulates=True)
    assert said in capsys.readouterr().err
    assert asked == [False]
