"""Words a block needs and lacks, and words it has and does not use."""

from __future__ import annotations

from collections.abc import Iterator

from millcalc.findings import Severity
from millcalc.gcode.modal import CYCLES, M_GROUPS, PROBES
from millcalc.gcode.problems import Problem
from millcalc.gcode.profiles import Profile
from millcalc.gcode.request import Request, at_word, missing_word
from millcalc.gcode.tuning import INTEGER_TOLERANCE
from millcalc.gcode.words import Block

ALWAYS_USED = "XYZABCFST"
# what would use a letter that nothing in the line uses
USERS = {
    **dict.fromkeys("IJK", "G2 or G3"),
    "R": "an arc or a canned cycle",
    "P": "a dwell or a cycle",
    "Q": "G83",
    "L": "a cycle or G10",
    "D": "G41 or G42",
    "H": "G43",
}


def required_words(block: Block, request: Request, profile: Profile) -> Iterator[Problem]:
    """Words the codes of a block need: missing ones, and ones out of range.

    block: The block.
    request: Its codes.
    profile: What the controller class accepts.
    Returns: The problems.
    """
    words, nonmodal = block.words, request.nonmodal
    if nonmodal == 40:
        yield from _dwell_time(block, profile)
    if nonmodal == 100:
        yield from _offset_setting(block)
    if nonmodal in (520, 920) and not request.axes:
        yield missing_word(block, nonmodal, "an axis word", "write the axes and their numbers")
    for letter, name in (("F", "feed"), ("S", "spindle speed")):
        if letter in words and words[letter][0] < 0:
            yield _negative(block, letter, f"the {name}")
    if "T" in words:
        yield from _whole(block, "T", 0, 99_999_999, "tool number")
    yield from _length_offset(block, request, profile)


def _dwell_time(block: Block, profile: Profile) -> Iterator[Problem]:
    letter = next((c for c in profile.dwell if c in block.words), "")
    if not letter:
        wanted = " or ".join(profile.dwell)
        hint = "; S is not a time here" if "S" in block.words else ""
        yield missing_word(block, 40, f"a time {wanted}", f"write {wanted} with the time{hint}")
    elif block.words[letter][0] < 0:
        yield _negative(block, letter, "the dwell time")


def _offset_setting(block: Block) -> Iterator[Problem]:
    """What G10 needs: L2 or L20, and the number of a work offset."""
    if "L" not in block.words:
        action = "write L2 (offset in machine coordinates) or L20 (present position)"
        yield missing_word(block, 100, "L2 or L20", action)
        return
    kind = block.words["L"][0]
    if kind not in (2, 20):
        fact = f"G10 is read with L2 or L20; L{kind:g} is not"
        yield at_word(
            block, "L", "WORD-12", fact, "set the offset at the machine, or with L2 or L20", "L2 or L20"
        )
    elif "P" not in block.words:
        yield missing_word(block, 100, "the number of the work offset, P1 to P9", "write P1 for G54")
    else:
        yield from _whole(block, "P", 0 if kind == 20 else 1, 9, "the work offset number")


def _length_offset(block: Block, request: Request, profile: Profile) -> Iterator[Problem]:
    length = request.groups.get(8)
    if length == 430 and "H" not in block.words and "length table" not in profile.refuse:
        what, action = "the number of the length offset, H", "write H with the tool number"
        yield missing_word(block, 430, what, action, blocks=False)
    if length == 431 and not any(letter in block.words for letter in "XYZ"):
        what, action = "an axis word with the offset", "write Z with the tool length"
        yield missing_word(block, 431, what, action, blocks=False)
    if length == 430 and "H" in block.words:
        yield from _whole(block, "H", 0, 9999, "length offset number")


def _whole(block: Block, letter: str, low: int, high: int, what: str) -> Iterator[Problem]:
    """A word that counts: it must be a whole number from low to high; a value only the machine knows passes."""
    value = block.words[letter][0]
    if value != value:
        return
    nearest = round(value) if abs(value) < 1e9 else -1
    if abs(value - nearest) > INTEGER_TOLERANCE:
        fact = f"{what} {letter}{value:g} is not a whole number"
        yield at_word(block, letter, "WORD-08", fact, "write a whole number", "a whole number")
    elif not low <= nearest <= high:
        fact, action = (
            f"{what} {letter}{value:g} is out of range",
            f"write a whole number from {low} to {high}",
        )
        yield at_word(block, letter, "WORD-09", fact, action, f"{low} to {high}")


def _negative(block: Block, letter: str, what: str) -> Problem:
    fact = f"{what} {letter}{block.words[letter][0]:g} is negative"
    return at_word(block, letter, "WORD-09", fact, "write a number of zero or more", "zero or more")


def unused_words(block: Block, request: Request) -> Iterator[Problem]:
    """Letters of the block that nothing in it uses.

    block: The block.
    request: Its codes.
    Returns: The problems.
    """
    others = [letter for letter in block.words if letter not in ALWAYS_USED]
    used = _used_letters(block, request) if others else set()
    for letter in others:
        if letter in used:
            continue
        value = block.words[letter][0]
        hint = USERS.get(letter, "a code that uses it")
        fact = f"word {letter}{value:g} is used by nothing in this line"
        action = f"write {hint} in the line, or remove the word"
        severity = None if letter in "IJKR" else Severity.WARNING
        yield at_word(block, letter, "WORD-10", fact, action, hint, blocks=False, severity=severity)


def _used_letters(block: Block, request: Request) -> set[str]:
    groups, m = request.groups, request.m
    motion = request.motion if request.moves else -1
    users = {
        "IJKRP": motion in (20, 30),
        "RPLQ": motion in CYCLES,
        "IJK": motion == 870,
        "P": motion in PROBES or any(code in (50, 51, 52, 53) for code, _, _ in block.m),
        "PXUS": request.nonmodal == 40,
        "LPR": request.nonmodal == 100,
        "D": groups.get(7, 400) != 400,
        "H": groups.get(8, 490) != 490,
        "PQ": groups.get(13) == 640,
        "RPIJKXYZQ": any(group in groups for group in (15, 16, 17, 18)),
        "PLQH": 10 in m,
        "RPQ": 11 in m,
        "PQRLHDIJK": any(code not in M_GROUPS for code, _, _ in block.m),
    }
    return {letter for letters, uses in users.items() if uses for letter in letters}
