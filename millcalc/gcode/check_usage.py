"""Words a block needs and lacks, and words it has and does not use."""

from __future__ import annotations

from collections.abc import Iterator

from millcalc.findings import Severity
from millcalc.gcode.modal import (
    CYCLES,
    M_GROUPS,
    PROBES,
)
from millcalc.gcode.problems import Problem
from millcalc.gcode.profiles import Profile
from millcalc.gcode.request import Request, missing_word
from millcalc.gcode.tuning import INTEGER_TOLERANCE
from millcalc.gcode.words import Block


def _whole(block: Block, letter: str, low: int, high: int, what: str) -> Problem | None:
    value, start, end = block.words[letter]
    nearest = round(value) if abs(value) < 1e9 else -1
    if value != value:
        return None
    if abs(value - nearest) > INTEGER_TOLERANCE:
        return Problem(
            "WORD-08",
            start,
            end,
            f"{what} {letter}{value:g} is not a whole number",
            "write a whole number",
            block.text[start:end],
            "a whole number",
        )
    if not low <= nearest <= high:
        return Problem(
            "WORD-09",
            start,
            end,
            f"{what} {letter}{value:g} is out of range",
            f"write a whole number from {low} to {high}",
            block.text[start:end],
            f"{low} to {high}",
        )
    return None


def required_words(block: Block, request: Request, profile: Profile, dwell_axis: str) -> Iterator[Problem]:
    """Words the codes of a block need: missing ones, and ones out of range.

    block: The block.
    request: Its codes.
    profile: What the controller class accepts.
    dwell_axis: Axis letter that gives a dwell time in this block, or empty.
    Returns: The problems.
    """
    words, nonmodal = block.words, request.nonmodal
    if nonmodal == 40:
        letter = next((c for c in profile.dwell if c in words), "")
        if not letter:
            wanted = " or ".join(profile.dwell)
            hint = "; S is not a time here" if "S" in words else ""
            yield missing_word(block, 40, f"a time {wanted}", f"write {wanted} with the time{hint}")
        elif words[letter][0] < 0:
            yield _negative(block, letter, "the dwell time")
    if nonmodal == 100:
        kind = words["L"][0] if "L" in words else 0.0
        if "L" not in words:
            yield missing_word(
                block, 100, "L2 or L20", "write L2 (offset in machine coordinates) or L20 (present position)"
            )
        elif kind not in (2, 20):
            _, start, end = words["L"]
            yield Problem(
                "WORD-12",
                start,
                end,
                f"G10 is read with L2 or L20; L{kind:g} is not",
                "set the offset at the machine, or with L2 or L20",
                block.text[start:end],
                "L2 or L20",
            )
        elif "P" not in words:
            yield missing_word(block, 100, "the number of the work offset, P1 to P9", "write P1 for G54")
        else:
            problem = _whole(block, "P", 0 if round(words["L"][0]) == 20 else 1, 9, "the work offset number")
            if problem is not None:
                yield problem
    if nonmodal in (520, 920) and not request.axes:
        yield missing_word(block, nonmodal, "an axis word", "write the axes and their numbers")
    for letter, name in (("F", "feed"), ("S", "spindle speed")):
        if letter in words and words[letter][0] < 0:
            yield _negative(block, letter, f"the {name}")
    if "T" in words:
        problem = _whole(block, "T", 0, 99_999_999, "tool number")
        if problem is not None:
            yield problem
    length = request.groups.get(8)
    if length == 430 and "H" not in words and "length table" not in profile.refuse:
        yield missing_word(
            block, 430, "the number of the length offset, H", "write H with the tool number", blocks=False
        )
    if length == 431 and not any(letter in words for letter in "XYZ"):
        yield missing_word(
            block, 431, "an axis word with the offset", "write Z with the tool length", blocks=False
        )
    if length == 430 and "H" in words:
        problem = _whole(block, "H", 0, 9999, "length offset number")
        if problem is not None:
            yield problem


def _negative(block: Block, letter: str, what: str) -> Problem:
    value, start, end = block.words[letter]
    return Problem(
        "WORD-09",
        start,
        end,
        f"{what} {letter}{value:g} is negative",
        "write a number of zero or more",
        block.text[start:end],
        "zero or more",
    )


def unused_words(block: Block, request: Request, profile: Profile) -> Iterator[Problem]:
    """Letters of the block that nothing in it uses.

    block: The block.
    request: Its codes.
    profile: What the controller class accepts.
    Returns: The problems.
    """
    words = block.words
    used = set("XYZABCFST")
    motion = request.motion if request.moves else -1
    if motion in (20, 30):
        used |= set("IJKRP")
    if motion in CYCLES:
        used |= set("RPLQIJK") if motion == 870 else set("RPLQ")
    if motion in PROBES:
        used |= set("P")
    nonmodal = request.nonmodal
    if nonmodal == 40:
        used |= set("PXUS")
    elif nonmodal == 100:
        used |= set("LPR")
    if 7 in request.groups and request.groups[7] != 400:
        used.add("D")
    if 8 in request.groups and request.groups[8] != 490:
        used.add("H")
    if request.groups.get(13) == 640:
        used |= set("PQ")
    if any(group in request.groups for group in (15, 16, 17, 18)):
        used |= set("RPIJKXYZQ")
    if 10 in request.m:
        used |= set("PLQH")
    if 11 in request.m:
        used |= set("RPQ")
    if block.m and any(code not in M_GROUPS for code, _, _ in block.m):
        used |= set("PQRLHDIJK")
    if any(code in (50, 51, 52, 53) for code, _, _ in block.m):
        used.add("P")
    for letter, (value, start, end) in words.items():
        if letter in used:
            continue
        hint = {
            "I": "G2 or G3",
            "J": "G2 or G3",
            "K": "G2 or G3",
            "R": "an arc or a canned cycle",
            "P": "a dwell or a cycle",
            "Q": "G83",
            "L": "a cycle or G10",
            "D": "G41 or G42",
            "H": "G43",
        }.get(letter, "a code that uses it")
        yield Problem(
            "WORD-10",
            start,
            end,
            f"word {letter}{value:g} is used by nothing in this line",
            f"write {hint} in the line, or remove the word",
            block.text[start:end],
            hint,
            blocks=False,
            severity=None if letter in "IJKR" else Severity.WARNING,
        )
