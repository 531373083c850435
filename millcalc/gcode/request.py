"""What a block asks for, and places in its text."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from millcalc.gcode.modal import code_name
from millcalc.gcode.problems import Problem
from millcalc.gcode.words import Block

AXIS_LETTERS = "XYZABC"


@dataclass(slots=True)
class Request:
    """The codes of a block sorted by what they do.

    groups: G code times ten of each modal group named in the block.
    m: M code of each group; coolant codes are kept in `coolant`.
    coolant: M7, M8, M9 as named.
    motion: Motion code in force for this block, times ten; -1 none.
    explicit_motion: Motion code named in the block.
    nonmodal: Group-0 code named in the block.
    axes: Axis letters present.
    moves: Whether the block makes a motion with the motion code.
    """

    groups: dict[int, int]
    m: dict[int, int]
    coolant: list[int]
    motion: int
    explicit_motion: int | None
    nonmodal: int | None
    axes: str
    moves: bool = False


def word_span(block: Block, letters: str) -> tuple[int, int]:
    """Columns from the first to the last of some words; of the codes when there are none.

    block: The block.
    letters: Letters of the words.
    Returns: start, end: Columns, 0-based, end exclusive [-].
    """
    places = [block.words[letter][1:] for letter in letters if letter in block.words]
    if not places:
        places = [(start, end) for _, start, end in block.g] or [(0, len(block.text))]
    return min(place[0] for place in places), max(place[1] for place in places)


def at_word(
    block: Block, letter: str, code: str, fact: str, action: str, expected: str, **more: Any
) -> Problem:
    """A problem that points at one word of the block.

    block: The block.
    letter: Letter of the word.
    code: Code of the finding.
    fact, action, expected: What is the case; what to do; what was expected.
    more: Further fields of the problem.
    Returns: The problem.
    """
    _, start, end = block.words[letter]
    return block.problem(code, start, end, fact, action, expected, **more)


def at_code(block: Block, code: str, g: int, fact: str, action: str, blocks: bool = True) -> Problem:
    """A problem that points at one G code of the block.

    block: The block.
    code: Code of the finding.
    g: The G code times ten [-].
    fact, action: What is the case; what to do.
    blocks: Whether it keeps the block from being executed.
    Returns: The problem.
    """
    start, end = next(((s, e) for each, s, e in block.g if each == g), (0, len(block.text)))
    return block.problem(code, start, end, fact, action, blocks=blocks)


def missing_word(
    block: Block, g: int, what: str, action: str, code: str = "WORD-12", blocks: bool = True
) -> Problem:
    """The problem of a G code without a word it needs.

    block: The block.
    g: The G code times ten [-].
    what: The missing word.
    action: What to do.
    code: Code of the finding.
    blocks: Whether it keeps the block from being executed.
    Returns: The problem.
    """
    name = code_name("G", g)
    problem = at_code(block, code, g, f"{name} needs {what}, which is missing", action, blocks)
    return replace(problem, expected=what)
