"""How a program ends: empty files, text after the end, an end that is missing."""

from __future__ import annotations

import re

from millcalc.gcode.problems import FindingLog
from millcalc.gcode.profiles import Profile
from millcalc.gcode.source import Source

_SUB_END = re.compile(r"m\s*0*99(?!\d)|endsub", re.IGNORECASE)
_SUB_BEGIN = re.compile(r"^\s*/?\s*(n\s*\d+\s*)?[o:]\s*(\d+|<[^>]*>)", re.IGNORECASE)


def nothing_to_run(source: Source) -> str:
    """Why there is nothing to run: the file is empty, or only comments.

    source: The text.
    Returns: The fact.
    """
    return "the file holds no block, only comments" if source.data.strip() else "the file is empty"


def written_lines(source: Source) -> int:
    """Number of lines that are not blank.

    source: The text.
    Returns: The number [-].
    """
    return sum(1 for index in range(source.lines) if source.raw(index).strip())


def report_missing_end(source: Source, log: FindingLog, profile: Profile, opened: bool) -> bool:
    """Report a program that was read to the last line without meeting its end.

    source: The text.
    log: Where findings go.
    profile: Says whether an end is required.
    opened: Whether the file begins with a percent line.
    Returns: Whether the program counts as incomplete.
    """
    lines = source.lines
    if lines > 1 and source.raw(lines - 1).strip() and not source.data.endswith((b"\n", b"\r")):
        log.note(
            "TEXT-21",
            "the last line has no line end and the program no M2, M30 or closing %: it may be cut off",
            "check that the file is whole",
            lines,
            source.text(lines - 1).strip()[-40:],
        )
    if opened:
        log.note(
            "TEXT-17",
            "the file begins with a % line but has neither a second one nor M2 or M30",
            "check that the file is whole; end it with M30 and %",
            lines,
        )
    elif profile.end_required:
        log.note(
            "TEXT-20",
            "the program has no end: neither M2 nor M30 nor a closing % line",
            "check that the file is whole; end it with M30",
            lines,
        )
    return opened or profile.end_required


def report_after_end(source: Source, log: FindingLog, first: int, called: set[str]) -> None:
    """Report text after the end, except subprograms that were called, comments and percent lines.

    source: The text.
    log: Where findings go.
    first: Index of the line after the end, 0-based [-].
    called: Labels of the subprograms that were called.
    """
    inside = False
    for index in range(first, source.lines):
        text = source.text(index)
        bare = re.sub(r"\([^()]*\)|;.*", "", text).strip(" \t\x00%\x1a")
        if inside:
            inside = _SUB_END.search(bare) is None
            continue
        if not bare:
            continue
        begin = _SUB_BEGIN.match(bare)
        if begin is not None:
            label = begin.group(2).lower()
            label = label if label.startswith("<") else label.lstrip("0") or "0"
            if label in called:
                inside = _SUB_END.search(bare) is None
                continue
        log.note(
            "TEXT-18",
            f"{source.lines - index} lines from here on stand after the end of the program and are not run",
            "remove them, or check whether two programs were joined",
            index + 1,
            text.strip()[:60],
        )
        return
