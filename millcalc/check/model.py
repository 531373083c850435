"""The result of a check as plain data: what the renderings show and what ``--json`` writes."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict

FORMAT = "millcalc-check"
VERSION = 1
Word = Literal["stop", "warning", "note"]


class Out(BaseModel):
    """Base of the result models: frozen, closed, no NaN or infinity."""

    model_config = ConfigDict(frozen=True, defer_build=True, extra="forbid", allow_inf_nan=False)


class Place(Out):
    """A place on the part [mm]."""

    x: float
    y: float
    z: float


class Mark(Out):
    """A place in the program text: line 1-based, columns in bytes from 1, 0 for the whole line; its text."""

    line: int
    start: int = 0
    end: int = 0
    text: str = ""


class Moment(Out):
    """When a finding happens: first contact, worst sample or release.

    `motion` is a row of the motion table from 0, `share` the part of it that is done then [-]; `time_s` counts from
    the start without stops at corners [s], `tip_mm` is where the cutter's tip is [mm]; None where unknown.
    """

    motion: int
    share: float
    time_s: float | None = None
    tip_mm: Place | None = None


class FindingOut(Out):
    """One finding, see :class:`millcalc.findings.Finding`; `count` equal ones are told as one."""

    code: str
    severity: Word
    title: str
    fact: str
    action: str = ""
    why: str = ""
    source: str = ""
    line: int | None = None
    first_line: int | None = None
    last_line: int | None = None
    count: int = 1
    marks: tuple[Mark, ...] = ()
    place_mm: Place | None = None
    at: Moment | None = None
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    tool: int | None = None
    found: str = ""
    expected: str = ""


class BlockOut(Out):
    """Findings about one place or of one cause: the head first, its reasons after it, and one remedy for all.

    `findings` are places in the report's list; `kind` says what joins them. `passes` of `depth_mm` at `feed_mm_min`
    are the remedy of a cut in numbers [-, mm, mm/min].
    """

    kind: Literal["cause", "screws", "cut", "single"]
    findings: tuple[int, ...]
    remedy: str = ""
    passes: int | None = None
    depth_mm: float | None = None
    feed_mm_min: float | None = None


class NotCheckedOut(Out):
    """A check that could not be made: what, which fact is missing, and the job fields that would supply it."""

    code: str
    what: str
    because: str
    fields: tuple[str, ...] = ()


class QuietedOut(Out):
    """A finding the person has accepted, with the reason and where it is written."""

    finding: FindingOut
    reason: str
    origin: str


class FailedOut(Out):
    """A logged cut with this machine, material and cutter that failed; lengths [mm]."""

    tool: int
    cut: str
    depth_mm: float
    width_mm: float


class LearnedOut(Out):
    """What the log of cuts changed in this check.

    `text` says it in words, `without` what would be found without it, `reasons` what it rests on; `margins` are factors
    on the limits by name [-], those that differ from 1; `failed` are the cuts below which the depth is kept.
    """

    text: str
    without: str = ""
    reasons: str = ""
    margins: dict[str, float] = {}
    failed: tuple[FailedOut, ...] = ()

    def line(self) -> str:
        """Both in one line."""
        return "; ".join(part for part in (self.text, self.without) if part)


class LimitUse(Out):
    """Largest share of a limit that a tool's cuts use: key of the advice, share of the whole limit [-]."""

    key: str
    share: float


class ToolUse(Out):
    """What the program does with one tool number; lengths [mm], speeds [rev/min], feeds [mm/min].

    Depth, width, chip and flutes are those of its hardest sideways cut, where that could be judged.
    """

    number: int | None
    cutter: str | None
    diameter_mm: float | None
    cut_length_mm: float
    deepest_mm: float | None
    speeds_rpm: tuple[float, ...] = ()
    feeds_mm_min: tuple[float, ...] = ()
    cutter_name: str | None = None
    flutes: int | None = None
    stickout_mm: float | None = None
    axial_depth_mm: float | None = None
    radial_width_mm: float | None = None
    chip_mm: float | None = None
    limits: tuple[LimitUse, ...] = ()


class Extents(Out):
    """Lowest and highest coordinates of the feed motions [mm]."""

    low: Place
    high: Place


class ProgramFacts(Out):
    """What was read."""

    name: str
    lines: int
    size_bytes: int
    sha256: str
    motions: int
    complete: bool
    units: tuple[str, ...]
    profile: str
    extents: Extents | None
    tools: tuple[ToolUse, ...]


class SetupFacts(Out):
    """What the job says; None where it does not.

    hold: Tape, vacuum, vice and other holds without a place of their own, in words.
    hold_balance: What the cut of each tool asks of them, in words.
    """

    job: str | None
    title: str = ""
    machine: str | None = None
    machine_name: str | None = None
    material: str | None = None
    material_name: str | None = None
    stock_mm: tuple[float, float, float] | None = None
    zero: str | None = None
    screws: int | None = None
    clamps: int | None = None
    hold: tuple[str, ...] | None = None
    hold_balance: tuple[str, ...] = ()
    speed_set_by: str | None = None
    assumptions: tuple[str, ...] = ()


class Clearance(Out):
    """Smallest gap of cutter and holder from a screw or clamp over the whole program [mm]."""

    name: str
    body: str
    gap_mm: float
    kept_mm: float
    line: int | None


class Watch(Out):
    """A moment to stand at the machine: seconds from the start in both timing cases."""

    line: int
    from_s: float
    to_s: float
    what: str


class Times(Out):
    """Run time: without stops at corners, and with a stop at every corner [s]; moments to watch."""

    quick_s: float
    strict_s: float
    cutting_quick_s: float
    watch: tuple[Watch, ...] = ()


class CutFacts(Out):
    """How the cut was determined, and which share of its length was held against limits, 0 to 1 [-]."""

    basis: str
    judged_share: float | None = None
    simulated: bool
    cell_mm: float | None = None
    depth_error_mm: float | None = None
    width_error_mm: float | None = None
    not_simulated: int = 0
    removed_cm3: float | None = None


class CheckReport(Out):
    """Everything a check found, and everything it did not look at."""

    format: Literal["millcalc-check"] = "millcalc-check"
    version: Literal[1] = 1
    millcalc: str
    shown_units: Literal["mm", "in"] = "mm"
    program: ProgramFacts
    setup: SetupFacts
    cut: CutFacts
    findings: tuple[FindingOut, ...]
    blocks: tuple[BlockOut, ...] = ()
    not_checked: tuple[NotCheckedOut, ...]
    quieted: tuple[QuietedOut, ...]
    learned: LearnedOut | None = None
    unused_acceptances: tuple[str, ...] = ()
    checked: tuple[str, ...]
    failed: tuple[str, ...] = ()
    clearances: tuple[Clearance, ...] = ()
    times: Times | None = None
    checklist: tuple[str, ...]
    cautions: tuple[str, ...]
    footer: str = ""

    def told(self) -> tuple[BlockOut, ...]:
        """The findings as they are told: in blocks, or one by one where none were made."""
        alone = (BlockOut(kind="single", findings=(k,), remedy=f.action) for k, f in enumerate(self.findings))
        return self.blocks or tuple(alone)

    def count(self, word: Word) -> int:
        """Number of findings of a severity, equal ones counted once.

        word: ``stop``, ``warning`` or ``note``.
        Returns: How many [-].
        """
        return sum(finding.severity == word for finding in self.findings)

    def exit_code(self, floor: Word = "warning") -> int:
        """Exit code for a severity floor.

        floor: Lowest severity that counts.
        Returns: 0 when no finding reaches the floor, 1 when one does, 3 when a rule broke down [-].
        """
        if self.failed:
            return 3
        rank = {"note": 1, "warning": 2, "stop": 3}
        return int(any(rank[finding.severity] >= rank[floor] for finding in self.findings))

    def verdict(self) -> str:
        """One sentence: what was found in how many things; never that anything is safe.

        Returns: The sentence.
        """
        things = len(self.checked)
        if not self.findings:
            return f"no problem found in the {things} things checked"
        counts = [
            f"{self.count(word)} {word}{'s' if self.count(word) != 1 else ''}"
            for word in ("stop", "warning", "note")
            if self.count(word)
        ]
        return f"{', '.join(counts)} in the {things} things checked"
