"""The procedures of measuring for a terminal: text and commands broken at its width, pictures left as they are."""

from __future__ import annotations

import re
from typing import Final

from millcalc.measure.how import BEFORE, HOW
from millcalc.report.wrapping import wrap

_STEP: Final = re.compile(r"\d+\. ")
_THEN: Final = "Then: "
_IN: Final = " " * 8  # before the further lines of a command


def how_lines(procedure: str, width: int) -> list[str]:
    """A procedure in words.

    procedure: Key of ``HOW``.
    width: Columns [-].
    Returns: Lines.
    """
    lines = [line[4:] if line.startswith("    ") else line for line in HOW[procedure].strip().split("\n")]
    shown = [*wrap(BEFORE, width), ""]
    for paragraph in _paragraphs(lines):
        if paragraph.startswith(_THEN):
            shown += _command(paragraph, width)
        elif paragraph.startswith(" "):
            shown.append(paragraph.rstrip())
        else:
            shown += wrap(paragraph, width, 3 if _STEP.match(paragraph) else 0) or [""]
    return shown


def _paragraphs(lines: list[str]) -> list[str]:
    """The lines with those joined that are one sentence, step or command; lines of a picture begin with a blank."""
    found: list[str] = []
    for line in lines:
        last = found[-1] if found else ""
        if last.endswith("\\"):
            found[-1] = f"{last[:-1].rstrip()} {line.strip()}"
        elif _goes_on(last, line):
            found[-1] = f"{last} {line.strip()}"
        else:
            found.append(line)
    return found


def _goes_on(last: str, line: str) -> bool:
    """Whether a line continues the paragraph before it."""
    if not last or last.startswith((" ", _THEN)) or not line.strip():
        return False
    if line.startswith(" "):
        return bool(_STEP.match(last)) and len(line) - len(line.lstrip()) == 3
    return not _STEP.match(line) and (line[0].islower() or not last.endswith((".", '"')))


def _command(text: str, width: int) -> list[str]:
    """A command broken before its options, as a shell takes it."""
    lines: list[str] = []
    for part in re.split(r" (?=--)", text):
        if lines and len(lines[-1]) + 1 + len(part) <= width - 2:
            lines[-1] += f" {part}"
        else:
            lines.append(_IN + part if lines else part)
    return [line + " \\" for line in lines[:-1]] + lines[-1:]
