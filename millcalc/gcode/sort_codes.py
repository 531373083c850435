"""The codes of a block sorted into modal groups; unknown, refused and clashing ones become problems."""

from __future__ import annotations

from millcalc.findings import Severity
from millcalc.gcode.modal import (
    G_GROUPS,
    G_HINTS,
    GROUP_MOTION,
    GROUP_NONMODAL,
    M_COOLANT,
    M_GROUPS,
    M_HINTS,
    code_name,
    nearest_codes,
)
from millcalc.gcode.problems import Problem
from millcalc.gcode.profiles import Profile
from millcalc.gcode.request import AXIS_LETTERS, Request
from millcalc.gcode.words import Block


def sort_codes(block: Block, profile: Profile, motion: int) -> Request:
    """Sort the codes of a block into groups; problems with them go to the block.

    block: The block.
    profile: What the controller class accepts.
    motion: Motion code in force before the block, times ten [-].
    Returns: What the block asks for.
    """
    groups = _g_codes(block, profile)
    m, coolant = _m_codes(block, profile)
    if len(block.m) > profile.m_words:
        _too_many(block, profile)
    explicit = groups.get(GROUP_MOTION)
    return Request(
        groups,
        m,
        coolant,
        motion if explicit is None else explicit,
        explicit,
        groups.get(GROUP_NONMODAL),
        "".join(letter for letter in AXIS_LETTERS if letter in block.words),
    )


def _g_codes(block: Block, profile: Profile) -> dict[int, int]:
    groups: dict[int, int] = {}
    for code, start, end in block.g:
        name = code_name("G", code)
        group = G_GROUPS.get(code)
        if group is None:
            block.problems.append(_unknown(block, "G", code, start, end))
            continue
        if not profile.accepts_g(code):
            block.problems.append(_refused(name, start, end, profile))
        before = groups.get(group)
        if before is None:
            groups[group] = code
        elif group == GROUP_MOTION and profile.separate_groups and 800 in (code, before):
            if before == 800:
                groups[group] = code
        else:
            other = code_name("G", before)
            action = f"keep {other} or {name}, or write two lines"
            block.problems.append(_clash(block, name, other, start, end, action))
    return groups


def _m_codes(block: Block, profile: Profile) -> tuple[dict[int, int], list[int]]:
    """The M code of each group, and the coolant codes, several of which may stand in a line."""
    m: dict[int, int] = {}
    coolant: list[int] = []
    for code, start, end in block.m:
        name = code_name("M", code)
        group = M_GROUPS.get(code)
        if group is None:
            block.problems.append(_unknown(block, "M", code, start, end))
            continue
        if not profile.accepts_m(code):
            block.problems.append(_refused(name, start, end, profile))
        before = m.get(group)
        if group == M_COOLANT and (code in coolant or (coolant and 9 in (code, *coolant))):
            before = coolant[-1]
        if before is not None:
            block.problems.append(_clash(block, name, code_name("M", before), start, end, "write two lines"))
        elif group == M_COOLANT:
            coolant.append(code)
        else:
            m[group] = code
    return m, coolant


def _clash(block: Block, name: str, other: str, start: int, end: int, action: str) -> Problem:
    expected = "one code of a group in a line"
    if name == other:
        fact, action = f"{name} stands twice in one line", f"remove the second {name}"
        warning = Severity.WARNING
        return block.problem("WORD-05", start, end, fact, action, expected, blocks=False, severity=warning)
    fact = f"{other} and {name} exclude each other in one line"
    return block.problem("WORD-05", start, end, fact, action, expected)


def _too_many(block: Block, profile: Profile) -> None:
    _, start, end = block.m[profile.m_words]
    block.problems.append(
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


def _unknown(block: Block, letter: str, code: int, start: int, end: int) -> Problem:
    name = code_name(letter, code)
    hint = (G_HINTS if letter == "G" else M_HINTS).get(code)
    fact = f"{name} is not a code this reader knows"
    if hint:
        means = hint.startswith(("cutter", "inch", "millim"))
        fact += f"; it means {hint}" if means else f"; it is {hint}"
    action = f"look {name} up in the controller's own list, or remove it"
    near = ", ".join(nearest_codes(letter, code))
    return block.problem("WORD-06", start, end, fact, action, near, blocks=letter == "G")
