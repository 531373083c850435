"""Findings about one place, or of one cause, told as one block with one remedy that satisfies them all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from millcalc.findings import Finding, Severity
from millcalc.preflight.context import Context
from millcalc.preflight.remedy import Remedy, cut_remedy, same_feed
from millcalc.preflight.uses import CutUses, cut_uses

Kind = Literal["cause", "screws", "cut", "single"]
# what a wrong zero, corner or turn of the stock makes wrong besides itself; a wrong unit the feeds too
PLACED = ("ZERO", "SCREW", "RAPID", "BED", "TRAVEL", "STOCK", "HOLDER", "DEPTH", "LOOSE", "FORCE", "PLUNGE")
FOLLOWS: dict[str, tuple[str, ...]] = {
    "ZERO-01": PLACED,
    "ZERO-02": PLACED,
    "ZERO-03": (*PLACED, "FEED", "TIME"),
    "ZERO-04": PLACED,
    "ZERO-05": ("FEED", "PLUNGE", "TIME"),
    "MODE-15": ("ZERO", "STOCK", "FEED", "TIME"),
}
LIKELY = ("ZERO-05", "MODE-15")  # causes that are warnings themselves
HITS = ("SCREW-01", "SCREW-02", "SCREW-03")
OF_A_CUT = (
    "DEPTH-01",
    "DEPTH-05",
    "FORCE-01",
    "FORCE-02",
    "FORCE-03",
    "FORCE-04",
    "FORCE-05",
    "FORCE-10",
    "DEPTH-07",
)
OF_A_FEED = ("FEED-03", "FEED-04")


@dataclass(frozen=True)
class Block:
    """Findings told together.

    kind: What joins them: a ``cause`` that the others follow from, ``screws`` that are hit, one ``cut``; ``single``.
    findings: Places in the sorted findings: the head first, its reasons after it [-].
    remedy: What to do: one edit that satisfies all of them.
    cut: The remedy of a cut in numbers; None for the other kinds.
    """

    kind: Kind
    findings: tuple[int, ...]
    remedy: str
    cut: Remedy | None = None


def blocks(ctx: Context, findings: Sequence[Finding]) -> tuple[Block, ...]:
    """Join findings into blocks.

    ctx: Program, set-up and what was simulated.
    findings: Worst first.
    Returns: Blocks in the order of their first finding; each finding is in exactly one.
    """
    made: list[Block] = []
    free = list(range(len(findings)))
    for make in (_causes, _screws, _cuts):
        for block in make(ctx, findings, free):
            made.append(block)
            free = [place for place in free if place not in block.findings]
    made += [Block("single", (place,), findings[place].action) for place in free]
    return tuple(sorted(made, key=lambda block: min(block.findings)))


def _causes(ctx: Context, findings: Sequence[Finding], free: list[int]) -> list[Block]:
    for head in free:
        cause = findings[head]
        if cause.code in FOLLOWS and (cause.severity is Severity.STOP or cause.code in LIKELY):
            families = FOLLOWS[cause.code]
            rest = [p for p in free if p != head and _follows(findings[p], families)]
            if cause.code == "MODE-15":  # a guess from sizes: no stop is told as its consequence
                rest = [p for p in rest if findings[p].severity < Severity.STOP]
            if rest:
                return [Block("cause", (head, *rest), cause.action)]
    return []


def _follows(finding: Finding, families: tuple[str, ...]) -> bool:
    return finding.severity > Severity.NOTE and finding.code.split("-")[0] in families


def _screws(ctx: Context, findings: Sequence[Finding], free: list[int]) -> list[Block]:
    hit = [place for place in free if findings[place].code in HITS]
    if len(hit) < 2:
        return []
    moves = dict.fromkeys(findings[place].action for place in hit)
    return [Block("screws", tuple(hit), "; ".join(moves))]


def _cuts(ctx: Context, findings: Sequence[Finding], free: list[int]) -> list[Block]:
    if not any(findings[place].code in OF_A_CUT for place in free):
        return []
    made = []
    for cut in cut_uses(ctx)[0]:
        over = cut.over()
        rows = set(cut.rows[over].tolist())
        mine = [p for p in free if findings[p].tool == cut.tool and findings[p].motion in rows]
        joined = [p for p in mine if findings[p].code in OF_A_CUT]
        if not joined or not any(findings[p].code in ("DEPTH-01", "FORCE-10") for p in joined):
            continue
        head = next(findings[p] for p in joined if findings[p].code in ("DEPTH-01", "FORCE-10"))
        feeds = [p for p in mine if findings[p].code in OF_A_FEED and same_feed(ctx, head, findings[p])][:1]
        if len(joined) + len(feeds) < 2:
            continue
        found = cut_remedy(ctx, cut, over, findings[feeds[0]] if feeds else None)
        also = [findings[p].action for p in joined if findings[p].code == "DEPTH-05"]
        if any(findings[p].code == "DEPTH-07" for p in joined):
            also.append("half the feed over the first diameter, or come in on an arc")
        remedy = "; ".join([_said(ctx, cut, found), *also])
        order = sorted(joined + feeds, key=lambda p: (findings[p].code not in ("DEPTH-01", "FORCE-10"), p))
        made.append(Block("cut", tuple(order), remedy, found))
    return made


def _said(ctx: Context, cut: CutUses, found: Remedy) -> str:
    feed = f"F {ctx.edit.feed_to_set(found.feed_mm_min)}" if found.feed_mm_min is not None else ""
    if found.passes is None:
        depth = "no depth worth cutting remains; another cutter, less stickout or a wider slot is needed"
    elif found.passes == 1:
        depth = ""
    else:
        depth = f"{found.passes} passes of {ctx.edit.mm(found.depth_mm)} instead of one"
    return ", and ".join(part for part in (feed, depth) if part)
