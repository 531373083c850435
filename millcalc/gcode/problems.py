"""Problems of the program text: collected with a cap a code, grouped into runs, turned into findings."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.findings import Finding, Severity, Span
from millcalc.gcode.codes import CODES
from millcalc.gcode.tuning import MAX_FINDINGS_PER_CODE


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a line.

    code: Code of the finding.
    start, end: Columns, 0-based, end exclusive; both -1 for the whole line [-].
    fact, action: What is the case; what to do.
    found, expected: What stands there; what was expected.
    blocks: True when the block is not executed because of it.
    severity: None takes the severity of the code.
    """

    code: str
    start: int
    end: int
    fact: str
    action: str = ""
    found: str = ""
    expected: str = ""
    blocks: bool = True
    severity: Severity | None = None
    measured: float | None = None
    limit: float | None = None
    unit: str = ""


class BlockError(Exception):
    """Carries a Problem out of the depths of a line to whoever reads the line."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem.fact)


@dataclass(slots=True)
class _Run:
    kind: str
    first: int
    last: int
    count: int
    problem: Problem


class FindingLog:
    """Findings in the order they came, at most so many of a code; the rest is counted.

    counts: How many findings of each code came up [-].
    added: How often something was added [-].
    """

    def __init__(self) -> None:
        self._findings: list[Finding] = []
        self._kept: dict[str, int] = {}
        self._seen: set[tuple[str, int, int]] = set()
        self._run: _Run | None = None
        self.counts: dict[str, int] = {}
        self.added = 0

    def full(self, code: str) -> bool:
        """Whether further findings of a code are only counted."""
        return self._kept.get(code, 0) >= CODES[code].cap

    def add(self, problem: Problem, line: int) -> None:
        """Take one problem of a line.

        problem: The problem.
        line: Line, 1-based; 0 for the whole program [-].
        """
        self.added += 1
        code = problem.code
        key = (code, line, problem.start)
        if key in self._seen:
            return
        self.counts[code] = self.counts.get(code, 0) + 1
        if self.full(code):
            return
        self._seen.add(key)
        self._kept[code] = self._kept.get(code, 0) + 1
        self._findings.append(_finding(problem, line))

    def note(self, code: str, fact: str, action: str, line: int = 0, found: str = "") -> None:
        """Take a problem of a whole line, or of the whole program, that keeps nothing from being executed.

        code: Code of the finding.
        fact, action: What is the case; what to do.
        line: Line, 1-based; 0 for the whole program [-].
        found: What stands there.
        """
        self.add(Problem(code, -1, -1, fact, action, found, blocks=False), line)

    def add_run(self, kind: str, problem: Problem, line: int) -> None:
        """Take a problem that is reported once for a run of neighbouring lines of the same kind.

        kind: What kind of line it is; another kind starts a new run.
        problem: The problem, as for a single line.
        line: Line, 1-based [-].
        """
        run = self._run
        if run is not None and run.kind == kind and run.problem.code == problem.code:
            if line == run.last + 1:
                run.last = line
                run.count += 1
                return
            if line <= run.last:
                return
        self.close_run()
        self._run = _Run(kind, line, line, 1, problem)

    def close_run(self) -> None:
        """End the run in hand, if any."""
        run, self._run = self._run, None
        if run is None:
            return
        before = len(self._findings)
        self.add(run.problem, run.first)
        if len(self._findings) > before and run.count > 1:
            single = self._findings[-1]
            fact = f"{single.fact} (lines {run.first} to {run.last})"
            self._findings[-1] = Finding(
                single.code,
                single.severity,
                fact,
                single.action,
                single.why,
                single.spans,
                found=single.found,
                expected=single.expected,
                source=single.source,
                count=run.count,
                last_line=run.last,
            )

    def count_more(self, code: str, number: int) -> None:
        """Add findings that the compiled reader counted past the cap.

        code: Code of the findings.
        number: How many [-].
        """
        if number:
            self.counts[code] = self.counts.get(code, 0) + number

    def findings(self) -> tuple[Finding, ...]:
        """All findings by line, with one line a code for those that were only counted."""
        self.close_run()
        rest = []
        for code, total in self.counts.items():
            more = total - self._kept.get(code, 0)
            if more > 0:
                doc = CODES[code]
                rest.append(
                    Finding(
                        code,
                        doc.severity,
                        f"{more} more findings of this kind ({doc.title}) are not listed one by one",
                        "correct the ones listed, then read the program again",
                        doc.why,
                        source=doc.source,
                        count=more,
                    )
                )
        self._findings.sort(key=lambda finding: finding.line or 0)
        return (*self._findings, *rest)


def _finding(problem: Problem, line: int) -> Finding:
    doc = CODES[problem.code]
    spans: tuple[Span, ...] = ()
    if line > 0:
        spans = (Span(line, problem.start + 1, max(problem.end, problem.start + 1) + 1),)
        if problem.start < 0:
            spans = (Span(line),)
    return Finding(
        problem.code,
        doc.severity if problem.severity is None else problem.severity,
        problem.fact,
        problem.action,
        doc.why,
        spans,
        measured=problem.measured,
        limit=problem.limit,
        unit=problem.unit,
        source=doc.source,
        found=problem.found,
        expected=problem.expected,
    )


__all__ = ["MAX_FINDINGS_PER_CODE", "BlockError", "FindingLog", "Problem"]
