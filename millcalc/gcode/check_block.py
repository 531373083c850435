"""What is wrong with the words of a block before anything of it is executed."""

from __future__ import annotations

from millcalc.findings import Severity
from millcalc.gcode.check_usage import required_words, unused_words
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
from millcalc.gcode.request import Request, at_code, missing_word, word_span
from millcalc.gcode.words import Block

__all__ = ["Request", "check_words", "sort_codes"]

AXIS_LETTERS = "XYZABC"


def sort_codes(block: Block, profile: Profile, motion: int) -> Request:
    """Sort the codes of a block into groups; problems with them go to the block.

    block: The block.
    profile: What the controller class accepts.
    motion: Motion code in force before the block, times ten [-].
    Returns: What the block asks for.
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

    block: The block.
    request: Its codes; `moves` is filled in.
    profile: What the controller class accepts.
    incremental: Whether G91 is in force for this block.
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
            missing_word(block, explicit, "an axis word", "write where to move, or leave the word out")
        )
    elif explicit is not None and (explicit in CYCLES or explicit in PROBES):
        code = "CYCLE-01" if explicit in CYCLES else "WORD-12"
        what = "an axis word" if explicit in CYCLES else "a target (X, Y or Z)"
        problems.append(missing_word(block, explicit, what, f"write {what}", code))
    if nonmodal == 530 and not (request.moves and request.motion in (0, 10)):
        problems.append(
            at_code(
                block, "WORD-17", 530, "G53 needs G0 or G1 in force and an axis word", "write G53 G0 Z..."
            )
        )
    elif nonmodal == 530 and incremental:
        problems.append(
            at_code(
                block,
                "WORD-17",
                530,
                "G53 gives machine coordinates, but G91 is in force",
                "write G90 before G53",
            )
        )
    problems.extend(required_words(block, request, profile, dwell_axis))
    problems.extend(unused_words(block, request, profile))
