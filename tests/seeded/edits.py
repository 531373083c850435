"""Mechanical edits of a program's lines: each returns the new lines and those at which the fault can be seen."""

from __future__ import annotations

import re
from collections.abc import Callable

Lines = list[str]
Edited = (
    tuple[Lines, set[int]] | None
)  # lines at which a person would look, 1-based; None where it does not apply
Edit = Callable[[Lines], Edited]
MOTION = re.compile(r"(?i)[XYZ]\s*-?[\d.]")
CUTS = re.compile(r"(?i)G0?[123](?!\d)|G8[1-9]")
NUMBER = r"(-?\d+\.?\d*)"


def bare(line: str) -> str:
    """A line without its comments."""
    return re.sub(r"\([^)]*\)|;.*", "", line)


def find(lines: Lines, pattern: str, which: str = "middle", after: str = "") -> int | None:
    """Place of a line whose code matches, 0-based.

    lines: The program.
    pattern: Regular expression, letters in either case.
    which: ``first``, ``middle`` or ``last`` of the matches.
    after: Only lines behind the first match of this.
    Returns: None where there is none.
    """
    start = 0
    if after:
        begin = [k for k, line in enumerate(lines) if re.search(after, bare(line), re.IGNORECASE)]
        if not begin:
            return None
        start = begin[0] + 1
    found = [k for k in range(start, len(lines)) if re.search(pattern, bare(lines[k]), re.IGNORECASE)]
    if not found:
        return None
    return {"first": found[0], "middle": found[len(found) // 2], "last": found[-1]}[which]


def next_motion(lines: Lines, at: int) -> int:
    """Place of the first line from here on that names an axis, 0-based."""
    return next((k for k in range(at, len(lines)) if MOTION.search(bare(lines[k]))), at)


def seen(lines: Lines, *places: int) -> set[int]:
    """Lines where a fault can be seen: these, and the first motion from each on, 1-based."""
    return {p + 1 for at in places for p in (at, next_motion(lines, at))}


def first_cuts(lines: Lines, at: int) -> set[int]:
    """Lines from here on where the cutter first moves at feed, with the two after, and first below zero, 1-based."""
    feed = next((k for k in range(at, len(lines)) if CUTS.search(bare(lines[k]))), at)
    deep = next((k for k in range(feed, len(lines)) if re.search("(?i)Z-", bare(lines[k]))), feed)
    return {feed + 1, feed + 2, feed + 3, deep + 1}


def swap(pattern: str, new: str, which: str = "middle", after: str = "", needs: str = "") -> Edit:
    """Replace the first match in one line; nothing new left in the line takes the line away."""

    def edit(lines: Lines) -> Edited:
        at = find(lines, pattern, which, after)
        if at is None or (needs and find(lines, needs) is None):
            return None
        text = re.sub(pattern, new, lines[at], count=1, flags=re.IGNORECASE)
        text = re.sub(r"\s+", " ", text).strip() if new == "" else text
        if text == lines[at]:
            return None
        if not re.sub(r"(?i)^N\d+", "", text).strip():
            out = lines[:at] + lines[at + 1 :]
            return out, seen(out, min(at, len(out) - 1))
        out = [*lines[:at], text, *lines[at + 1 :]]
        return out, seen(out, at)

    return edit


def insert(text: str, pattern: str, which: str = "middle", after: str = "", needs: str = "") -> Edit:
    """Put a line before one that matches."""

    def edit(lines: Lines) -> Edited:
        at = find(lines, pattern, which, after)
        if at is None or (needs and find(lines, needs) is None):
            return None
        out = [*lines[:at], text, *lines[at:]]
        return out, seen(out, at, at + 1)

    return edit


def drop(pattern: str, which: str = "middle", after: str = "", before: str = "") -> Edit:
    """Take a line away; `before` is what the next line must be."""

    def edit(lines: Lines) -> Edited:
        places = [k for k in range(len(lines) - 1) if re.search(pattern, bare(lines[k]), re.IGNORECASE)]
        places = [k for k in places if re.search(before, bare(lines[k + 1]), re.IGNORECASE)]
        begin = find(lines, after, "first") if after else -1
        places = [k for k in places if begin is not None and k > begin]
        if not places:
            return None
        at = {"first": places[0], "middle": places[len(places) // 2], "last": places[-1]}[which]
        out = lines[:at] + lines[at + 1 :]
        return out, seen(out, at)

    return edit


def scale(letter: str, factor: float, which: str = "middle", only: str = "", twin: bool = False) -> Edit:
    """Multiply one word; `twin` asks that its old value stands elsewhere, too."""

    def edit(lines: Lines) -> Edited:
        word = rf"(?<![A-Z\]]){letter}\s*{NUMBER}"
        at = find(lines, rf"(?=.*{word}){only}", which)
        if at is None:
            return None
        match = re.search(word, lines[at], re.IGNORECASE)
        assert match is not None
        others = [k for k, line in enumerate(lines) if k != at and match.group() in line]
        if float(match.group(1)) == 0 or (twin and not others):
            return None
        text = f"{float(match.group(1)) * factor:.4f}".rstrip("0").rstrip(".")
        changed = lines[at][: match.start(1)] + text + lines[at][match.end(1) :]
        out = [*lines[:at], changed, *lines[at + 1 :]]
        return out, seen(out, at)

    return edit


def shift(letter: str, by_mm: float, needs: str = "") -> Edit:
    """Add to every word of an axis: the zero lies elsewhere."""

    def edit(lines: Lines) -> Edited:
        if find(lines, r"G20\b|G91|R\d|\[") is not None or (needs and find(lines, needs) is None):
            return None

        def moved(match: re.Match[str]) -> str:
            return f"{match.group(1)}{float(match.group(2)) + by_mm:.3f}"

        out = [re.sub(rf"(?i)({letter})\s*{NUMBER}", moved, line) for line in lines]
        return (out, set(range(1, len(out) + 1))) if out != lines else None

    return edit


def cut_off(share: float, within_line: bool = False) -> Edit:
    """The file ends early, at depth."""

    def edit(lines: Lines) -> Edited:
        at = find(lines[: int(len(lines) * share)], r"G0?[123]\s*X", "last")
        if at is None:
            return None
        out = [*lines[:at], lines[at][: max(4, len(lines[at]) - 3)] if within_line else lines[at]]
        return out, {len(out)}

    return edit


def doubled() -> Edit:
    """One cutting block stands twice."""

    def edit(lines: Lines) -> Edited:
        at = find(lines, r"G0?1\s*X")
        if at is None or find(lines, "G91") is not None:
            return None
        out = [*lines[: at + 1], lines[at], *lines[at + 1 :]]
        return out, {at + 1, at + 2}

    return edit


def lost_retract() -> Edit:
    """A retract between two features is missing, so that the next travel runs at depth."""
    return drop(r"^(N\d+\s*)?G0?[01]\s*Z\d", after=r"G0?1.*Z-", before=r"G0\s*X")
