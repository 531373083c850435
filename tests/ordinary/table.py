"""How often each rule speaks about the ordinary programs."""

from __future__ import annotations

import re
import statistics
from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import cache
from typing import Any

import yaml

from millcalc.check.prepare import CheckOptions, make_context
from millcalc.check.run import judge
from millcalc.findings import Finding, Severity
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from tests.ordinary.programs import Ordinary, ordinary

JOB = """
grade_known: true
stock: {size_x: 100 mm, size_y: 80 mm, thickness: 6 mm}
zero: {xy: front-left, z: stock top}
bed: {spoilboard: 12 mm, below: wood, allowance: 0.5 mm}
"""
CUTTERS = {1: "flat-6mm-2f", 2: "vee-60-6mm", 3: "drill-3mm-hss", 4: "ball-6mm-2f", 5: "drill-3mm-hss"}
STOP_RATE, WARNING_RATE = 0.02, 0.05  # the most a rule may have on programs without a fault


@cache
def setup(text: str = JOB) -> Any:
    """A job's set-up; the default knows stock and zero of the ordinary programs, not their cutters."""
    return build_setup(parse_job(yaml.safe_dump(yaml.safe_load(text)), "ordinary"))


def cutters_of(program: Ordinary) -> str:
    """The cutters that a program uses, as lines of a job; one that names no number has one cutter."""
    used = sorted({int(n) for n in re.findall(rb"(?im)\bT(\d+)", program.data)})
    numbers = used or [{"letters": 2, "holes": 3, "deep-holes": 3, "waves": 4}.get(program.part, 1)]
    cutters = "".join(f"  T{n}: {{cutter: {CUTTERS.get(n, CUTTERS[1])}, stickout: 25 mm}}\n" for n in numbers)
    return cutters.replace(CUTTERS[1], "flat-3mm-2f") if program.part in ("rings", "slots") else cutters


def job_for(program: Ordinary) -> Any:
    """The set-up of a program with the cutters that it uses."""
    return setup(f"{JOB}cutters:\n{cutters_of(program)}")


def findings_of(data: bytes, job: Any = None) -> tuple[Finding, ...]:
    """What the check says about a program; the cut is not simulated."""
    options = CheckOptions(simulate=False)
    return judge(make_context(data, "ordinary.nc", job, options), options).findings


@dataclass(frozen=True)
class Rates:
    """What was said about the whole set.

    programs: How many [-].
    share: Share of the programs by code and severity [-].
    stops, warnings: Number in each program, sorted [-].
    repeats: Most findings of one code in one program [-].
    """

    programs: int
    share: dict[tuple[str, Severity], float]
    stops: tuple[int, ...]
    warnings: tuple[int, ...]
    repeats: dict[str, int]


def rates(with_job: bool = False) -> Rates:
    """Judge the whole set.

    with_job: Whether stock, zero and cutters are known.
    Returns: Rates of every code that spoke.
    """
    seen: dict[tuple[str, Severity], set[str]] = defaultdict(set)
    stops, warnings, repeats = [], [], Counter[str]()
    for program in ordinary():
        found = findings_of(program.data, job_for(program) if with_job else None)
        for finding in found:
            seen[finding.code, finding.severity].add(program.name)
        stops.append(sum(f.severity is Severity.STOP for f in found))
        warnings.append(sum(f.severity is Severity.WARNING for f in found))
        for code, count in Counter(f.code for f in found).items():
            repeats[code] = max(repeats[code], count)
    total = len(stops)
    share = {key: len(names) / total for key, names in sorted(seen.items())}
    return Rates(total, share, tuple(sorted(stops)), tuple(sorted(warnings)), dict(repeats))


def lines(found: Rates) -> list[str]:
    """The table in words."""
    with_stop = sum(n > 0 for n in found.stops)
    out = [
        f"{found.programs} programs; stops: median {statistics.median(found.stops):g}, in {with_stop} programs; "
        f"warnings: median {statistics.median(found.warnings):g}, "
        f"in {sum(n > 0 for n in found.warnings)} programs",
        f"{'rule':<10}{'severity':<10}{'share':>7}  most in one program",
    ]
    for (code, severity), share in sorted(found.share.items(), key=lambda entry: (-entry[0][1], -entry[1])):
        over = share > {Severity.STOP: STOP_RATE, Severity.WARNING: WARNING_RATE}.get(severity, 1.0)
        mark = "  over" if over else ""
        out.append(f"{code:<10}{severity.word:<10}{share:>7.1%}  {found.repeats[code]}{mark}")
    return out
