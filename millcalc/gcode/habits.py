"""What a class of controllers does not like about the way a line is written, beyond its meaning."""

from __future__ import annotations

from millcalc.gcode.lookalikes import spelled
from millcalc.gcode.problems import Problem
from millcalc.gcode.words import Block, TextRules


def add_habits(block: Block, rules: TextRules) -> None:
    """Add what the profile's controllers do not like about the way the line is written.

    block: The block as read; problems are added to it.
    rules: What the profile accepts.
    """
    text = block.text
    code_part = []
    at = 0
    for _, start, end in block.comments:
        code_part.append((at, start))
        at = end
    code_part.append((at, len(text)))
    for start, end in code_part:
        piece = text[start:end]
        if not rules.lower_case:
            for k, character in enumerate(piece):
                if "a" <= character <= "z":
                    block.problems.append(
                        Problem(
                            "TEXT-13",
                            start + k,
                            start + k + 1,
                            f"letter {character!r} is lower case, which this controller class does not read",
                            "write capital letters",
                            character,
                            character.upper(),
                            blocks=False,
                        )
                    )
                    break
        if not rules.tabs and "\t" in piece:
            k = start + piece.index("\t")
            block.problems.append(
                Problem(
                    "TEXT-14",
                    k,
                    k + 1,
                    "a tab stands in the line",
                    "write blanks",
                    "a tab",
                    "a blank",
                    blocks=False,
                )
            )
    for _, start, end in block.comments:
        note = text[start:end]
        opener = text[start - 1] if start else ""
        if opener == ";" and not rules.semicolon:
            block.problems.append(
                Problem(
                    "TEXT-15",
                    start - 1,
                    end,
                    "a comment begins with ; which this controller class does not read",
                    "write comments in ( )",
                    ";",
                    "( )",
                    blocks=False,
                )
            )
        if not rules.foreign_in_comments:
            for k, character in enumerate(note):
                if character >= "\x80":
                    block.problems.append(
                        Problem(
                            "TEXT-07",
                            start + k,
                            start + k + 1,
                            "a comment holds a character outside plain ASCII; some controllers take it for a command",
                            "write the comment in plain letters",
                            spelled(note, k)[0],
                            "plain ASCII",
                            blocks=False,
                        )
                    )
                    break
        if not rules.realtime_in_comments:
            for k, character in enumerate(note):
                if character in "!?~":
                    block.problems.append(
                        Problem(
                            "TEXT-16",
                            start + k,
                            start + k + 1,
                            f"a comment holds {character!r}, which this controller class may act on at once",
                            f"remove {character!r} from the comment",
                            character,
                            "a comment without ! ? ~",
                            blocks=False,
                        )
                    )
                    break
