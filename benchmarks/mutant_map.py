"""Which tests run which lines: the record behind ``benchmarks/mutants.py``."""

from __future__ import annotations

import ast
import hashlib
import json
import re
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path


def digest_of(text: str) -> str:
    """A short name of a text."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


@dataclass
class Map:
    """Which tests run which lines: one JSON file a test file, kept between runs."""

    folder: Path
    root: Path
    seconds: dict[str, float] = field(default_factory=dict)
    touching: dict[tuple[str, int], list[str]] = field(default_factory=lambda: defaultdict(list))
    files_touching: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    tests_of: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    stale: set[tuple[str, str]] = field(default_factory=set)

    def path(self, test_file: str) -> Path:
        """Where the record of a test file is kept; another text, another record."""
        text = (self.root / test_file).read_text(encoding="utf-8")
        return self.folder / f"{Path(test_file).stem}-{digest_of(test_file + text)}.json"

    def load(self, test_file: str) -> None:
        """Read one record."""
        record = json.loads(self.path(test_file).read_text(encoding="utf-8"))
        names = record["tests"]
        for name, seconds in record["seconds"].items():
            self.seconds[name] = seconds
            self.tests_of[test_file].append(name)
        for module, (digest, lines) in record["lines"].items():
            self.files_touching[module].add(test_file)
            if digest_of(self._text(module)) != digest:
                self.stale.add((module, test_file))
                continue
            for line, who in lines.items():
                self.touching[module, int(line)] += [names[n] for n in who]

    def asked(self, module: str, line: int, at_import: bool) -> list[str]:
        """Tests to ask of a line, quickest first: those that run it, then the others of their files.

        The others count too: what a fixture or a cache did once is recorded with the first test that needed it.
        """
        lines = {(module, line)} | (self._users(module, line) if at_import else set())
        first = {name for place in lines for name in self.touching.get(place, ()) if name in self.seconds}
        files = {name.split("::")[0] for name in first}
        files |= {file for file in self.files_touching[module] if not first or (module, file) in self.stale}
        then = {name for file in files for name in self.tests_of[file]} - first
        return sorted(first, key=self._worth) + sorted(then, key=self._worth)

    def _worth(self, name: str) -> float:
        """Tests that state many numbers first, then the quickest [s]."""
        many = name.startswith("tests/pinned/") or "test_cases.py::test_found" in name
        return self.seconds[name] * (0.05 if many else 1.0)

    def _users(self, module: str, line: int) -> set[tuple[str, int]]:
        """Lines that read what a statement defines while the module is imported; a function's own for its head."""
        statements = list(ast.parse(self._text(module)).body)
        names: set[str] = set()
        while statements:
            one = statements.pop()
            begin = min([one.lineno, *(d.lineno for d in getattr(one, "decorator_list", ()))])
            if not begin <= line <= (one.end_lineno or line):
                continue
            if isinstance(one, ast.ClassDef):
                names.add(one.name)
                statements = list(one.body)
            elif isinstance(one, ast.FunctionDef):
                return {(module, n) for n in range(one.body[0].lineno, (one.end_lineno or line) + 1)}
            elif isinstance(one, ast.Assign | ast.AnnAssign):
                targets = one.targets if isinstance(one, ast.Assign) else [one.target]
                names = {
                    n.id for target in targets for n in ast.walk(target) if isinstance(n, ast.Name)
                } or names
        if not names:
            return set()
        word = re.compile(rf"\b({'|'.join(map(re.escape, names))})\b")
        return {
            (path.relative_to(self.root).as_posix(), n)
            for path in (self.root / "millcalc").rglob("*.py")
            for n, row in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
            if word.search(row)
        }

    def _text(self, module: str) -> str:
        return (self.root / module).read_text(encoding="utf-8")
