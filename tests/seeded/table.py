"""Put each kind of fault into programs that have none, and count what the check says about it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from millcalc.check.prepare import CheckOptions, make_context
from millcalc.check.run import judge
from millcalc.findings import Finding, Severity
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from tests.ordinary.programs import ordinary
from tests.ordinary.table import CUTTERS, JOB, cutters_of
from tests.seeded.edits import first_cuts
from tests.seeded.kinds import KINDS, Kind

DEMOS = Path(__file__).parents[2] / "demo_jobs"
SHOP = """
machine: gantry-800w
material: plywood-birch
screws:
  - {x: 3 mm, y: 40 mm, head_diameter: 8 mm, shank_diameter: 4 mm, head_height: 3 mm, depth_in_bed: 10 mm,
     placed: measured}
clamps: none
controller: {tool_changer: true, tool_length_offsets: true}
"""


@dataclass(frozen=True)
class Base:
    """A program without the fault, and the text of its job."""

    name: str
    lines: tuple[str, ...]
    job: str


@cache
def bases() -> tuple[Base, ...]:
    """The demo jobs, then the ordinary programs that a mill with a switched spindle runs."""
    found = []
    for folder in sorted(DEMOS.iterdir()):
        if (folder / "job.yaml").exists():
            text = (folder / "good.nc").read_text(encoding="ascii")
            found.append(Base(f"demo/{folder.name}", tuple(text.splitlines()), str(folder / "job.yaml")))
    for program in ordinary():
        if program.style is None or program.style.spindle != "none":
            job = JOB.replace("z: stock top", "z: stock top, work_offset: G54") + SHOP
            job += f"cutters:\n{cutters_of(program)}"
            found.append(Base(program.name, tuple(program.data.decode("ascii").splitlines()), job))
    return tuple(found)


@cache
def _setup(job: str) -> Any:
    if job.endswith("job.yaml"):
        from millcalc.job import load_job
        from millcalc.tables import load_shop

        return build_setup(load_job(Path(job)), Path(job), load_shop())
    return build_setup(parse_job(yaml.safe_dump(yaml.safe_load(job)), "seeded"))


def findings(lines: tuple[str, ...], job: str | None) -> tuple[Finding, ...]:
    """What the check says."""
    options = CheckOptions(simulate=job is not None, cell_mm=0.25)
    data = ("\n".join(lines) + "\n").encode("ascii")
    return judge(make_context(data, "seeded.nc", _setup(job) if job else None, options), options).findings


@cache
def untouched(base: Base, with_job: bool) -> tuple[Finding, ...]:
    """What the check says before the fault is put in."""
    return findings(base.lines, base.job if with_job else None)


@dataclass
class Row:
    """Counts of one kind: where it was named, and the programs in which it was not."""

    kind: Kind
    at_line: int = 0
    elsewhere: int = 0
    missed: int = 0
    alarmed: int = 0
    lost: list[str] = field(default_factory=list)
    most: int = 0
    codes: Counter[str] = field(default_factory=Counter)

    @property
    def tried(self) -> int:
        """Programs with this fault."""
        return self.at_line + self.elsewhere + self.missed


def seeded(kind: Kind, most: int) -> Iterator[tuple[Base, tuple[str, ...], str, set[int]]]:
    """Programs with a fault: base, lines, job and the lines at which it can be seen; at most so many, spread."""
    found = []
    for base in bases():
        if kind.job is not None:
            old, new = kind.job
            place = re.search(r"(?im)G0 ?X([2-8]\d)\.?\d* ?Y([2-6]\d)(?!\d)", "\n".join(base.lines))
            if old in base.job and (place or "{x}" not in new):
                new = new.format(x=place.group(1), y=place.group(2)) if place and "{x}" in new else new
                found.append((base, base.lines, base.job.replace(old, new), set(range(len(base.lines) + 1))))
            continue
        assert kind.edit is not None
        if base.name.split("/")[1] in kind.harmless:
            continue
        edited = kind.edit(list(base.lines))
        if edited is not None and tuple(edited[0]) != base.lines:
            places = edited[1]
            if kind.name.startswith("spindle"):  # it shows where the cutter first meets the material
                places = places | first_cuts(edited[0], min(places) - 1)
            found.append((base, tuple(edited[0]), base.job, places))
    step = max(1, len(found) // most)
    yield from found[::step][:most]


def judge_kind(kind: Kind, with_job: bool, most: int = 6) -> Row:
    """Count what is said about one kind of fault.

    kind: The fault.
    with_job: Whether the job is known.
    most: Programs to try [-].
    Returns: Its row.
    """
    row = Row(kind)
    for base, lines, job, places in seeded(kind, most):
        before = {(f.code, f.fact, f.count) for f in untouched(base, with_job)}
        said = findings(lines, job if with_job else None)
        new = [f for f in said if (f.code, f.fact, f.count) not in before]
        here = [f for f in new if places & {s.line for s in f.spans} or (f.last_line in places)]
        row.most = max([row.most, *Counter(f.code for f in new).values()])
        row.at_line += bool(here)
        row.codes.update({f.code for f in here})
        row.alarmed += any(f.severity > Severity.NOTE for f in here)
        strong = any(f.severity > Severity.NOTE for f in new)
        row.elsewhere += not here and strong
        row.missed += not here and not strong
        if not here:
            codes = ",".join(sorted({f.code for f in new})) or "nothing"
            row.lost.append(f"{base.name}: {codes} at {sorted({s.line for f in new for s in f.spans})[:6]}, "
                            f"wanted {sorted(places)[:4]}")  # fmt: skip
    return row


def table(with_job: bool, most: int = 6, every: int = 1) -> list[Row]:
    """One row a kind (or every second, third ... one) that can be known so, and applies."""
    rows = [judge_kind(kind, with_job, most) for kind in KINDS[::every] if with_job or kind.alone]
    return [row for row in rows if row.tried]


def lines_of(rows: list[Row], why: bool = False) -> list[str]:
    """The table in words."""
    out = [f"{'kind of fault':<38}{'tried':>6}{'at line':>8}{'(warned)':>9}{'else':>6}{'missed':>7}"]
    for row in rows:
        out.append(
            f"{row.kind.name:<38}{row.tried:>6}{row.at_line:>8}{row.alarmed:>9}{row.elsewhere:>6}{row.missed:>7}"
        )
        if why:
            out.append("      by " + ", ".join(f"{code} {n}" for code, n in row.codes.most_common(8)))
            out += [f"      {entry}" for entry in row.lost]
    tried, named = sum(r.tried for r in rows), sum(r.at_line for r in rows)
    whole = sum(r.at_line >= 0.9 * r.tried for r in rows)
    out.append(f"most new findings of one code in one program: {max(r.most for r in rows)}")
    out.append(
        f"{len(rows)} kinds, {tried} programs: {named / tried:.1%} named at their line; "
        f"{whole} kinds ({whole / len(rows):.1%}) named in nine of ten"
    )
    return out


__all__ = ["CUTTERS", "bases", "judge_kind", "lines_of", "table", "untouched"]
