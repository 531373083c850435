"""Compiled kernels are kept on disk; what is damaged, foreign or not writable there is made again without a word."""

from __future__ import annotations

import ast
import importlib.util
import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from itertools import count
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from millcalc import kernel_sources, kernels

numba = pytest.importorskip("numba")
ROOT = Path(__file__).parents[1]
SOURCE = """
from millcalc.kernels import kernel

@kernel
def twice(values):
    total = 0.0
    for value in values:
        total += 2.0 * value
    return total
"""
VALUES = np.array([1.0, 2.0, 4.0])
_NAMES = count()

pytestmark = pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="nothing is compiled")


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache of its own that holds one compiled kernel."""
    (tmp_path / "twice_kernels.py").write_text(SOURCE, encoding="utf-8")
    folder = tmp_path / "cache"
    folder.mkdir()
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(folder))
    monkeypatch.setattr(kernels, "_cached", True)
    assert _fresh(tmp_path)(VALUES) == 14.0
    assert _kept(folder, "nbi") and _kept(folder, "nbc")
    return folder


def _fresh(folder: Path) -> Callable[[Any], float]:
    """The kernel as a new process would meet it."""
    spec = importlib.util.spec_from_file_location(f"twice_{next(_NAMES)}", folder / "twice_kernels.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.twice  # type: ignore[no-any-return]


def _kept(folder: Path, ending: str) -> list[Path]:
    return sorted(folder.rglob(f"*.{ending}"))


def _hits(function: Any) -> int:
    return sum(function.stats.cache_hits.values())


def test_a_kept_kernel_is_loaded_and_not_compiled(cache: Path) -> None:
    again = _fresh(cache.parent)
    assert again(VALUES) == 14.0
    assert _hits(again) == 1


def test_a_loaded_kernel_can_be_compiled_into_another_one(cache: Path) -> None:
    loaded = _fresh(cache.parent)
    assert loaded(VALUES) == 14.0 and _hits(loaded) == 1

    @kernels.kernel
    def around(values: Any) -> float:
        return 3.0 * float(loaded(values))

    assert around(VALUES) == 42.0


@pytest.mark.skipif(numba.__version__ not in kernels.LIGHT_WITH, reason="another numba loads in its own way")
def test_a_kernel_is_loaded_without_what_only_compiling_needs(tmp_path: Path) -> None:
    (tmp_path / "filled_kernels.py").write_text(
        "import numpy as np\nfrom millcalc.kernels import kernel\n\n@kernel\ndef filled(count):\n"
        "    if count < 0:\n        raise ValueError('fewer than none')\n    return np.ones(count).sum()\n",
        encoding="utf-8",
    )
    code = (
        "import sys; from filled_kernels import filled; import llvmlite.binding as b; seen = []; "
        "real = b.parse_bitcode; b.parse_bitcode = lambda code, *more: (seen.append(len(code)), real(code, *more))[1]; "
        "print(filled(4)); "
        "print(sum(size > 2000 for size in seen), *(name in sys.modules for name in "
        "('scipy.linalg', 'numba.np.arrayobj', 'coverage')))\n"
        "try:\n    filled(-1)\nexcept ValueError as error:\n    print(error)"
    )
    surroundings = dict(
        os.environ,
        NUMBA_CACHE_DIR=str(tmp_path / "cache"),
        PYTHONPATH=os.pathsep.join((str(tmp_path), str(ROOT))),
    )
    for _ in range(2):
        done = subprocess.run([sys.executable, "-c", code], env=surroundings, capture_output=True, text=True)
    assert done.stdout.splitlines() == ["4.0", "0 False False False", "fewer than none"], done.stderr


@pytest.mark.parametrize("ending", ["nbi", "nbc"])
@pytest.mark.parametrize(
    "damage",
    [b"", b"\x80\x04\x95 no pickle of numba", pickle.dumps("0.0.1"), pickle.dumps(("0.0.1", b"x"))],
    ids=["empty", "garbage", "other version", "other content"],
)
def test_a_damaged_cache_is_made_again(cache: Path, ending: str, damage: bytes) -> None:
    for path in _kept(cache, ending):
        path.write_bytes(damage)
    assert _fresh(cache.parent)(VALUES) == 14.0
    mended = _fresh(cache.parent)
    assert mended(VALUES) == 14.0
    assert _hits(mended) == 1


def test_a_kernel_is_made_again_when_a_module_that_it_imports_has_changed(
    cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = cache.parent / "millcalc"
    folder.mkdir()
    (cache.parent / "twice_kernels.py").write_text(
        SOURCE.replace("2.0", "TIMES").replace("kernel\n\n@", "kernel\nfrom millcalc.toy import TIMES\n\n@"),
        encoding="utf-8",
    )
    monkeypatch.setattr(kernel_sources, "PACKAGE_FOLDER", folder)

    def answer(times: float) -> tuple[float, int]:
        """What a new process is told, and how many kernels it found compiled."""
        (folder / "toy.py").write_text(f"TIMES = {times}\n", encoding="utf-8")
        monkeypatch.setitem(sys.modules, "millcalc.toy", SimpleNamespace(TIMES=times))  # type: ignore[misc]
        kernel_sources.stamp_of.cache_clear()
        kernel_sources._imported.cache_clear()
        twice: Any = _fresh(cache.parent)
        return twice(VALUES), _hits(twice)

    assert answer(3.0) == (21.0, 0)
    assert answer(10.5) == (73.5, 0)


def test_the_reader_is_made_of_the_arcs_and_the_limits_too() -> None:
    sources = kernel_sources.sources_of(kernel_sources.PACKAGE_FOLDER / "gcode" / "read_kernels.py")
    assert {"read_kernels", "arc_kernels", "arc_geometry", "tuning", "kernels"} <= {
        path.stem for path in sources
    }
    assert not {"reader", "__init__", "execute"} & {
        path.stem for path in sources
    }  # changes there compile nothing


@pytest.mark.parametrize("ending", ["nbi", "nbc"])
def test_a_truncated_cache_is_made_again(cache: Path, ending: str) -> None:
    for path in _kept(cache, ending):
        path.write_bytes(path.read_bytes()[:-20])
    assert _fresh(cache.parent)(VALUES) == 14.0


def test_a_folder_that_takes_nothing_leaves_the_kernel_uncached(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    (tmp_path / "twice_kernels.py").write_text(SOURCE, encoding="utf-8")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "file" / "cache"))
    monkeypatch.setattr(kernels, "_cached", None)
    assert _fresh(tmp_path)(VALUES) == 14.0
    assert kernels._cached is False


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="modes and owners of POSIX")
def test_nothing_is_loaded_from_a_folder_that_others_can_write(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", "")  # so that it is put back as it was
    monkeypatch.delenv("NUMBA_CACHE_DIR")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(kernels, "cache_folder", lambda: tmp_path / "millcalc")
    monkeypatch.setattr(kernels, "PACKAGE_FOLDER", tmp_path / "read-only" / "package")
    (tmp_path / "read-only").write_text("a file, so that no folder can be made in it", encoding="utf-8")
    folder = tmp_path / "millcalc" / "kernels"
    folder.mkdir(parents=True)
    folder.chmod(0o777)
    assert kernels._prepare() is False
    folder.chmod(0o700)
    monkeypatch.setattr(numba.config, "CACHE_DIR", numba.config.CACHE_DIR)
    assert kernels._prepare() is True
    assert Path(os.environ["NUMBA_CACHE_DIR"]) == folder


def test_two_processes_at_once_fill_one_cache_and_a_third_loads_it_without_scipy(tmp_path: Path) -> None:
    (tmp_path / "twice_kernels.py").write_text(SOURCE, encoding="utf-8")
    code = (
        "import sys, numpy as np; from twice_kernels import twice; "
        "print(twice(np.array([1.0, 2.0, 4.0])), 'scipy.linalg' in sys.modules)"
    )
    surroundings = dict(
        os.environ,
        NUMBA_CACHE_DIR=str(tmp_path / "cache"),
        PYTHONPATH=os.pathsep.join((str(tmp_path), str(ROOT))),
    )

    def begin() -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-c", code], env=surroundings, stdout=subprocess.PIPE, text=True
        )

    for process in (begin(), begin()):
        assert process.communicate(timeout=600)[0].split()[0] == "14.0"
    third = begin().communicate(timeout=600)[0].split()
    light = numba.__version__ in kernels.LIGHT_WITH
    assert third == ["14.0", "False"] if light else third[0] == "14.0"


def _inner_kernels() -> set[str]:
    """Names of the kernels that Python must not call, in all kernel modules."""
    found = set()
    for path in kernel_sources.PACKAGE_FOLDER.rglob("*_kernels.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and any(
                isinstance(mark, ast.Name) and mark.id == "inner_kernel" for mark in node.decorator_list
            ):
                found.add(f"{path.stem}.{node.name}")
    return found


def test_only_kernels_use_the_kernels_without_a_door_for_python() -> None:
    inner = _inner_kernels()
    assert {"walk_kernels.cut_step", "geometry_kernels.motion_distance"} <= inner
    calling = []
    for path in (*kernel_sources.PACKAGE_FOLDER.rglob("*.py"), *(ROOT / "tests").rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        if path.stem.endswith("_kernels") and path.is_relative_to(kernel_sources.PACKAGE_FOLDER):
            continue
        if "_kernels import" not in text or "import from_python" in text:
            continue
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.ImportFrom) and node.module:
                names = {f"{node.module.rsplit('.', 1)[-1]}.{name.name}" for name in node.names}
                calling += [f"{path.relative_to(ROOT)} imports {name}" for name in sorted(names & inner)]
    assert calling == [], "numba ends the process there: make it a kernel, or wrap it in a kernel"
