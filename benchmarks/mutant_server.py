"""The engine of ``benchmarks/mutants.py``: records which test runs which line, and asks the tests of a mutant.

One pytest session collects everything. Its loop never runs a test itself: each test file is recorded, and each mutant
tried, in a fork of it, so nothing that one leaves behind reaches the next.
"""

from __future__ import annotations

import gc
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from types import CodeType, FunctionType
from typing import TYPE_CHECKING, Any

import pytest

from benchmarks.mutant_map import Map, digest_of

if TYPE_CHECKING:
    from benchmarks.mutants import Mutant, Pin

# processor seconds: a recorded file, and how much longer than asked the tests of a mutant run before they hang
RECORD_S, HANG_S = 60, 20
MEMORY_BYTES = 6 * 2**30
OPTIMIZED = 0x1  # a code object of a function; a module's and a class's body lack the flag


class Server:
    """The pytest plugin."""

    def __init__(self, work: dict[str, list[Mutant | Pin]], root: Path, kernels: bool, seconds: int) -> None:
        self.work, self.root, self.kernels, self.seconds = work, root, kernels, seconds
        self.map = Map(root / "build" / ("mutants-kernels" if kernels else "mutants"), root)
        self.copy: Path | None = None
        self.failed = False
        self.sound: dict[str, bool] = {}

    @pytest.hookimpl(trylast=True)
    def pytest_collection(self) -> None:
        """Shrinking a counterexample only costs time here."""
        from hypothesis import Phase, settings

        settings.register_profile(
            "mutants", settings.get_profile("fixed"), phases=(Phase.explicit, Phase.generate)
        )
        settings.load_profile("mutants")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Remember that a test failed."""
        self.failed = self.failed or report.failed

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Record what is new, then try the mutants."""
        self.items = {item.nodeid: item for item in session.items if not item.get_closest_marker("skip")}
        by_file: dict[str, list[pytest.Item]] = defaultdict(list)
        for item in self.items.values():
            by_file[item.nodeid.split("::")[0]].append(item)
        self.map.folder.mkdir(parents=True, exist_ok=True)
        _warm()  # or the first test of a file spends the file's time on compiling
        for n, (test_file, items) in enumerate(by_file.items()):
            place = self.map.path(test_file)
            if not place.exists() or json.loads(place.read_text(encoding="utf-8"))["tests"] != [
                i.nodeid for i in items
            ]:
                place.unlink(missing_ok=True)
                begun = time.monotonic()
                _forked(lambda items=items, place=place: self._record(items, place), RECORD_S)
                if not place.exists():
                    empty = {"tests": [item.nodeid for item in items], "seconds": {}, "lines": {}}
                    place.write_text(json.dumps(empty), encoding="utf-8")
                print(
                    f"recorded {n + 1}/{len(by_file)} {test_file} in {time.monotonic() - begun:.0f} s",
                    flush=True,
                )
            self.map.load(test_file)
        if any(self.work.values()):
            self._find_functions()
        killed = tried = 0
        for stage, mutants in self.work.items():
            got = self._stage(stage, mutants)
            killed, tried = killed + got[0], tried + got[1]
        if tried:
            print(f"all: {killed} of {tried} killed, {killed / tried:.1%}", flush=True)
        if self.copy:
            shutil.rmtree(self.copy, ignore_errors=True)
        return True

    def _run(self, items: list[pytest.Item]) -> Iterator[pytest.Item]:
        for item, following in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            yield item

    def _record(self, items: list[pytest.Item], place: Path) -> int:
        import coverage

        meter = coverage.Coverage(
            data_file=None, config_file=False, include=[str(self.root / "millcalc" / "*")]
        )
        seconds: dict[str, float] = {}
        lines: dict[str, tuple[str, dict[int, list[int]]]] = {}
        names = [item.nodeid for item in items]
        number = {name: n for n, name in enumerate(names)}

        def keep() -> None:
            data = meter.get_data()
            for file in data.measured_files():
                text = Path(file).read_text(encoding="utf-8")
                who = {
                    line: [number[c] for c in contexts if c]
                    for line, contexts in data.contexts_by_lineno(file).items()
                }
                lines[Path(file).relative_to(self.root).as_posix()] = (digest_of(text), who)
            part = place.with_suffix(".part")
            part.write_text(
                json.dumps({"tests": names, "seconds": seconds, "lines": lines}), encoding="utf-8"
            )
            part.replace(place)

        def late(*_: object) -> None:
            meter.stop()
            keep()
            os._exit(0)

        signal.signal(signal.SIGXCPU, late)
        meter.start()
        meter.switch_context(names[0])
        begun = time.process_time()
        for n, item in enumerate(self._run(items)):
            now = time.process_time()
            if not self.failed:
                seconds[item.nodeid] = now - begun
            self.failed, begun = False, now
            if n + 1 < len(names):
                meter.switch_context(names[n + 1])
        meter.stop()
        keep()
        return 0

    def _stage(self, stage: str, mutants: list[Mutant | Pin]) -> tuple[int, int]:
        """Try one stage. Gives the number killed and tried, those that nobody could tell left out of both."""
        count: Counter[str] = Counter()
        for mutant in mutants:
            source = mutant.path.read_text(encoding="utf-8")
            if excuse := mutant.excuse(source):
                count["equivalent"] += 1
                print(f"  equivalent {mutant.shown(source)} [{excuse}]", flush=True)
                continue
            begun = time.monotonic()
            alive = self._survives(mutant, source)
            count["survived" if alive else "killed"] += 1
            if alive:
                print(f"  survived {mutant.shown(source)} [{alive}]", flush=True)
            elif time.monotonic() - begun > 60:
                print(f"  slow: {time.monotonic() - begun:.0f} s for {mutant.shown(source)}", flush=True)
        tried = count["killed"] + count["survived"]
        print(
            f"{stage}: {count['killed']} of {tried} killed, {count['killed'] / max(1, tried):.0%}; "
            f"{count['equivalent']} more that nobody could tell",
            flush=True,
        )
        return count["killed"], tried

    def _survives(self, mutant: Mutant | Pin, source: str) -> str:
        """Empty when a test notices; else how many were asked."""
        edited = mutant.applied(source)
        codes = [compile(text, str(mutant.path), "exec") for text in (source, edited)]
        pairs = _pairs(codes[0], codes[1])
        names = [n for n in self.map.asked(mutant.module, mutant.line, pairs is None) if n in self.items]
        if not names:
            return "no test runs it"
        while True:
            if pairs is None:
                status, asked = self._anew(mutant, edited, names)
            else:
                status, asked = self._in_fork(pairs, str(mutant.path), names)
            if status == 0:
                return f"{len(asked)} of {len(names)} tests asked"
            if not asked or self._sound(asked[-1]):
                return ""
            names.remove(asked[-1])

    def _sound(self, name: str) -> bool:
        """Whether a test passes without any edit: one that does not tells nothing."""
        if name not in self.sound:
            self.sound[name] = self._in_fork({}, "", [name])[0] == 0
            if not self.sound[name]:
                print(f"  fails without any edit, left out: {name}", flush=True)
                self.items.pop(name, None)
        return self.sound[name]

    def _in_fork(
        self, pairs: dict[tuple[str, int], CodeType], path: str, names: list[str]
    ) -> tuple[int, list[str]]:
        """Ask tests of exchanged code: how it ended, and which were asked."""
        with tempfile.TemporaryFile() as done:
            status = _forked(lambda: self._ask(pairs, path, names, done.fileno()), self.seconds + HANG_S)
            return status, names[: os.fstat(done.fileno()).st_size]

    def _find_functions(self) -> None:
        """All functions by their file, and what keeps answers; tables are no stage, theirs may be kept."""
        self.functions: dict[str, list[FunctionType]] = defaultdict(list)
        self.caches: list[Any] = []
        gc.unfreeze()  # frozen things are not listed, and tests/conftest.py freezes what collecting made
        for thing in gc.get_objects():
            if isinstance(thing, FunctionType):
                self.functions[thing.__code__.co_filename].append(thing)
            elif type(thing).__name__ == "_lru_cache_wrapper":
                module = str(thing.__module__)
                if module.startswith("millcalc.") and not module.startswith("millcalc.tables."):
                    self.caches.append(thing)
        gc.freeze()

    def _ask(self, pairs: dict[tuple[str, int], CodeType], path: str, names: list[str], done: int) -> int:
        """Exchange the code, run the tests one after another: 1 at the first that fails."""
        for cache in self.caches:
            cache.cache_clear()
        for function in self.functions.get(path, ()):
            code = function.__code__
            function.__code__ = pairs.get((code.co_qualname, code.co_firstlineno), code)
        begun = time.process_time()
        signal.signal(signal.SIGXCPU, lambda *_: os._exit(1))  # a loop without an end is noticed
        os.write(done, b".")
        for _ in self._run([self.items[n] for n in names]):
            if self.failed:
                return 1
            if time.process_time() - begun > self.seconds:
                return 0
            os.write(done, b".")
        return 0

    def _anew(self, mutant: Mutant | Pin, edited: str, names: list[str]) -> tuple[int, list[str]]:
        """What runs at import: a new pytest on a copy of the project."""
        if self.copy is None:
            self.copy = Path(tempfile.mkdtemp(prefix="mutants-"))
            for name in ("millcalc", "tests", "materials", "demo_jobs", "docs", "benchmarks"):
                shutil.copytree(self.root / name, self.copy / name)
            for name in ("pyproject.toml", "README.md", "DEVELOPERS.md", "CHANGELOG.md"):
                shutil.copy2(self.root / name, self.copy / name)
        target = self.copy / mutant.module
        original = target.read_text(encoding="utf-8")
        target.write_text(edited, encoding="utf-8", newline="\n")
        spent, few = 0.0, []
        for name in names:
            spent += self.map.seconds[name]
            if spent > self.seconds:
                break
            few.append(name)
        wanted = self.copy / "wanted.txt"
        wanted.write_text("\n".join(few), encoding="utf-8")
        environment = {**os.environ, "PYTHONPATH": str(self.copy), "PYTHONDONTWRITEBYTECODE": "1"}
        command = [sys.executable, "-m", "pytest", "-x", "-q", f"@{wanted}"]
        try:
            ran = subprocess.run(
                command, cwd=self.copy, env=environment, capture_output=True, timeout=800, text=True
            )
        except subprocess.TimeoutExpired:
            return 1, few
        finally:
            target.write_text(original, encoding="utf-8", newline="\n")
        failed = [name for name in few if f"FAILED {name}" in ran.stdout]
        return ran.returncode, few if ran.returncode == 0 else failed


def _warm() -> None:
    """Load once what every mutant would load again: tables, compiled kernels, libraries."""
    from millcalc.advise.advice import advise
    from millcalc.limits.request import CutRequest
    from tests.helpers.looking import looked
    from tests.pinned.test_limits_table import CUTS, tooling_of

    with tempfile.TemporaryDirectory() as place:
        looked(Path(place))
    for name in CUTS:
        tooling_of(name)
    advise(tooling_of("slot"), CutRequest("slot"))


def _pairs(old: CodeType, new: CodeType) -> dict[tuple[str, int], CodeType] | None:
    """The new code of every function, by qualified name and line; None when what runs at import differs."""
    pairs = {(new.co_qualname, new.co_firstlineno): new} if new.co_flags & OPTIMIZED else {}
    olds = [c for c in old.co_consts if isinstance(c, CodeType)]
    news = [c for c in new.co_consts if isinstance(c, CodeType)]
    if not old.co_flags & OPTIMIZED:
        plain = [[c for c in code.co_consts if not isinstance(c, CodeType)] for code in (old, new)]
        if old.co_code != new.co_code or repr(plain[0]) != repr(plain[1]):
            return None
    for one, other in zip(olds, news, strict=True):
        inner = _pairs(one, other)
        if inner is None:
            return None
        pairs |= inner
    return pairs


def _forked(what: Callable[[], int], seconds: int) -> int:
    """Run something in a fork without a voice, with so much processor time and memory. Gives how it ended."""
    sys.stdout.flush()
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    status: Any = 1
    try:
        silent = os.open(os.devnull, os.O_RDWR)
        for stream in (1, 2) if not os.environ.get("MUTANTS_LOUD") else ():
            os.dup2(silent, stream)
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 10))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
        status = what()
    finally:
        os._exit(status)


def serve(
    work: dict[str, list[Mutant | Pin]], tests: tuple[str, ...], root: Path, kernels: bool, seconds: int
) -> None:
    """Collect the tests, record, try every mutant for so many processor seconds and print what survived."""
    with tempfile.TemporaryDirectory(prefix="mutants-tests-") as place:
        pytest.main(
            ["-p", "no:terminal", "--capture=no", f"--basetemp={place}/t", f"--rootdir={root}", *tests],
            plugins=[Server(work, root, kernels, seconds)],
        )
