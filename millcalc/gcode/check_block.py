"""What is wrong with the words of a block before anything of it is executed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from millcalc.findings import Severity
from millcalc.gcode.modal import (
    AXIS_NONMODAL,
    CYCLES,
    G_GROUPS,
    G_HINTS,
    GROUP_MOTION,
    GROUP_NONMODAL,
    M_COOLANT,
    M_GROUPS,
    M_HINTS,
    PROBES,
    code_name,
    nearest_codes,
)
from millcalc.gcode.problems import Problem
from millcalc.gcode.profiles import Profile
from millcalc.gcode.words import Block
from millcalc.tuning import INTEGER_TOLERANCE

AXIS_LETTERS = "XYZABC"


@dataclass(slots=True)
class Request:
    """The codes of a block sorted by what they do.

    Attributes
    ----------
    groups : dict of int to int
        G code times ten of each modal group named in the block.
    m : dict of int to int
        M code of each group; coolant codes are kept in `coolant`.
    coolant : list of int
        M7, M8, M9 as named.
    motion : int
        Motion code in force for this block, times ten; -1 none.
    explicit_motion : int or None
        Motion code named in the block.
    nonmodal : int or None
        Group-0 code named in the block.
    axes : str
        Axis letters present.
    moves : bool
        Whether the block makes a motion with the motion code.
    """

    groups: dict[int, int]
    m: dict[int, int]
    coolant: list[int]
    motion: int
    explicit_motion: int | None
    nonmodal: int | None
    axes: str
    moves: bool = False


def sort_codes(block: Block, profile: Profile, motion: int) -> Request:
    """Sort the codes of a block into groups; problems with them go to the block.

    Parameters
    ----------
    block : Block
        The block.
    profile : Profile
        What the controller class accepts.
    motion : int
        Motion code in force before the block, times ten [-].

    Returns
    -------
    Request
        What the block asks for.
    """
    problems = block.problems
    groups: dict[int, int] = {}
    for code, start, end in block.g:
        name = code_name("G", code)
        group = G_GROUPS.get(code)
        written = block.text[start:end]
        if group is None:
            problems.append(_unknown("G", code, start, end, written))
            continue
        if not profile.accepts_g(code):
            problems.append(_refused(name, start, end, profile))
        if (
            group == GROUP_MOTION
            and group in groups
            and profile.separate_groups
            and 800 in (code, groups[group])
        ):
            if groups[group] == 800:
                groups[group] = code
            continue
        if group in groups:
            same = groups[group] == code
            other = code_name("G", groups[group])
            problems.append(
                Problem(
                    "WORD-05",
                    start,
                    end,
                    f"{name} stands twice in one line"
                    if same
                    else f"{other} and {name} exclude each other in one line",
                    f"remove the second {name}" if same else f"keep {other} or {name}, or write two lines",
                    written,
                    "one code of a group in a line",
                    blocks=not same,
                    severity=Severity.WARNING if same else None,
                )
            )
            continue
        groups[group] = code
    m: dict[int, int] = {}
    coolant: list[int] = []
    for code, start, end in block.m:
        name = code_name("M", code)
        group = M_GROUPS.get(code)
        if group is None:
            problems.append(_unknown("M", code, start, end, block.text[start:end]))
            continue
        if not profile.accepts_m(code):
            problems.append(_refused(name, start, end, profile))
        clash = None
        if group == M_COOLANT:
            if code in coolant or (coolant and 9 in (code, *coolant)):
                clash = coolant[-1]
            else:
                coolant.append(code)
        elif group in m:
            clash = m[group]
        else:
            m[group] = code
        if clash is not None:
            same = clash == code
            problems.append(
                Problem(
                    "WORD-05",
                    start,
                    end,
                    f"{name} stands twice in one line"
                    if same
                    else f"M{clash} and {name} exclude each other in one line",
                    f"remove the second {name}" if same else "write two lines",
                    block.text[start:end],
                    "one code of a group in a line",
                    blocks=not same,
                    severity=Severity.WARNING if same else None,
                )
            )
    if len(block.m) > profile.m_words:
        _, start, end = block.m[profile.m_words]
        problems.append(
            Problem(
                "WORD-15",
                start,
                end,
                f"{len(block.m)} M words stand in one line; this controller class takes {profile.m_words}",
                "write them in separate lines",
                f"{len(block.m)} M words",
                f"at most {profile.m_words}",
                blocks=len(block.m) > 4 and profile.m_words <= 4,
            )
        )
    explicit = groups.get(GROUP_MOTION)
    axes = "".join(letter for letter in AXIS_LETTERS if letter in block.words)
    request = Request(
        groups,
        m,
        coolant,
        motion if explicit is None else explicit,
        explicit,
        groups.get(GROUP_NONMODAL),
        axes,
    )
    return request


def _refused(name: str, start: int, end: int, profile: Profile) -> Problem:
    return Problem(
        "WORD-07",
        start,
        end,
        f"{name} is not accepted by {profile.title} (profile {profile.name})",
        "have the program written for this controller, or name the right profile in the job",
        name,
        "a code of this controller class",
        blocks=False,
    )


def _unknown(letter: str, code: int, start: int, end: int, written: str) -> Problem:
    name = code_name(letter, code)
    hint = (G_HINTS if letter == "G" else M_HINTS).get(code)
    near = ", ".join(nearest_codes(letter, code))
    fact = f"{name} is not a code this reader knows"
    if hint:
        fact += (
            f"; it is {hint}" if not hint.startswith(("cutter", "inch", "millim")) else f"; it means {hint}"
        )
    return Problem(
        "WORD-06",
        start,
        end,
        fact,
        f"look {name} up in the controller's own list, or remove it",
        written,
        near,
        blocks=letter == "G",
    )


def check_words(block: Block, request: Request, profile: Profile, *, incremental: bool) -> None:
    """Find combinations of words that are not allowed; problems go to the block.

    Parameters
    ----------
    block : Block
        The block.
    request : Request
        Its codes; `moves` is filled in.
    profile : Profile
        What the controller class accepts.
    incremental : bool
        Whether G91 is in force for this block.
    """
    problems = block.problems
    nonmodal, explicit, axes = request.nonmodal, request.explicit_motion, request.axes
    start, end = word_span(block, AXIS_LETTERS + "IJKR")
    dwell_axis = ""
    if nonmodal == 40:
        dwell_axis = next((c for c in profile.dwell if c in axes and "P" not in block.words), "")
    used_by_nonmodal = (
        nonmodal in AXIS_NONMODAL
        or request.groups.get(8) == 431
        or any(code in (680, 510, 511) for code in request.groups.values())
    )
    moving_axes = "" if used_by_nonmodal else axes.replace(dwell_axis, "") if dwell_axis else axes
    beside = profile.separate_groups and explicit == 0 and nonmodal in (280, 300)
    if nonmodal in AXIS_NONMODAL and axes and explicit not in (None, 800) and not beside:
        name = code_name("G", nonmodal or 0)
        problems.append(
            Problem(
                "WORD-13",
                start,
                end,
                f"{code_name('G', explicit)} and {name} both want the axis words of the line",
                f"write {name} in a line of its own",
                block.text[start:end],
                "one user of the axis words",
            )
        )
    arc = request.motion in (20, 30)
    if moving_axes or (arc and explicit is not None) or (arc and any(c in block.words for c in "IJKR")):
        if request.motion in (-1, 800):
            problems.append(
                Problem(
                    "WORD-11",
                    start,
                    end,
                    f"axis words {' '.join(moving_axes)} stand in a line, but "
                    + (
                        "no motion code came before"
                        if request.motion == -1
                        else "G80 has ended the motion code"
                    ),
                    "write G0, G1 or another motion code before them",
                    block.text[start:end],
                    "a motion code",
                )
            )
        else:
            request.moves = not used_by_nonmodal
    elif explicit in (0, 10) and not profile.bare_motion and not used_by_nonmodal:
        problems.append(
            _missing(block, explicit, "an axis word", "write where to move, or leave the word out")
        )
    elif explicit is not None and (explicit in CYCLES or explicit in PROBES):
        code = "CYCLE-01" if explicit in CYCLES else "WORD-12"
        what = "an axis word" if explicit in CYCLES else "a target (X, Y or Z)"
        problems.append(_missing(block, explicit, what, f"write {what}", code))
    if nonmodal == 530 and not (request.moves and request.motion in (0, 10)):
        problems.append(
            _at_code(
                block, "WORD-17", 530, "G53 needs G0 or G1 in force and an axis word", "write G53 G0 Z..."
            )
        )
    elif nonmodal == 530 and incremental:
        problems.append(
            _at_code(
                block,
                "WORD-17",
                530,
                "G53 gives machine coordinates, but G91 is in force",
                "write G90 before G53",
            )
        )
    problems.extend(_required(block, request, profile, dwell_axis))
    problems.extend(_unused(block, request, profile))


def word_span(block: Block, letters: str) -> tuple[int, int]:
    """Columns from the first to the last of some words; of the codes when there are none.

    Parameters
    ----------
    block : Block
        The block.
    letters : str
        Letters of the words.

    Returns
    -------
    start, end : int
        Columns, 0-based, end exclusive [-].
    """
    places = [block.words[letter][1:] for letter in letters if letter in block.words]
    if not places:
        places = [(start, end) for _, start, end in block.g] or [(0, len(block.text))]
    return min(place[0] for place in places), max(place[1] for place in places)


def _at_code(block: Block, code: str, g: int, fact: str, action: str, blocks: bool = True) -> Problem:
    start, end = next(((s, e) for each, s, e in block.g if each == g), (0, len(block.text)))
    return Problem(code, start, end, fact, action, block.text[start:end], "", blocks=blocks)


def _missing(
    block: Block, g: int, what: str, action: str, code: str = "WORD-12", blocks: bool = True
) -> Problem:
    name = code_name("G", g)
    problem = _at_code(block, code, g, f"{name} needs {what}, which is missing", action, blocks)
    return Problem(code, problem.start, problem.end, problem.fact, action, problem.found, what, blocks=blocks)


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


def _required(block: Block, request: Request, profile: Profile, dwell_axis: str) -> Iterator[Problem]:
    words, nonmodal = block.words, request.nonmodal
    if nonmodal == 40:
        letter = next((c for c in profile.dwell if c in words), "")
        if not letter:
            wanted = " or ".join(profile.dwell)
            hint = "; S is not a time here" if "S" in words else ""
            yield _missing(block, 40, f"a time {wanted}", f"write {wanted} with the time{hint}")
        elif words[letter][0] < 0:
            yield _negative(block, letter, "the dwell time")
    if nonmodal == 100:
        kind = words["L"][0] if "L" in words else 0.0
        if "L" not in words:
            yield _missing(
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
            yield _missing(block, 100, "the number of the work offset, P1 to P9", "write P1 for G54")
        else:
            problem = _whole(block, "P", 0 if round(words["L"][0]) == 20 else 1, 9, "the work offset number")
            if problem is not None:
                yield problem
    if nonmodal in (520, 920) and not request.axes:
        yield _missing(block, nonmodal, "an axis word", "write the axes and their numbers")
    for letter, name in (("F", "feed"), ("S", "spindle speed")):
        if letter in words and words[letter][0] < 0:
            yield _negative(block, letter, f"the {name}")
    if "T" in words:
        problem = _whole(block, "T", 0, 99_999_999, "tool number")
        if problem is not None:
            yield problem
    length = request.groups.get(8)
    if length == 430 and "H" not in words and "length table" not in profile.refuse:
        yield _missing(
            block, 430, "the number of the length offset, H", "write H with the tool number", blocks=False
        )
    if length == 431 and not any(letter in words for letter in "XYZ"):
        yield _missing(
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


def _unused(block: Block, request: Request, profile: Profile) -> Iterator[Problem]:
    """Letters of the block that nothing in it uses."""
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
