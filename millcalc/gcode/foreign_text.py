"""Tell lines that are not G-code at all (prose, HTML, merge marks, quoted mail, tables) from faulty G-code."""

from __future__ import annotations

import re

from millcalc.gcode.operations import FUNCTIONS, OPERATORS

_MERGE = re.compile(r"^(<{7}|={7}|>{7}|\|{7})(\s|$)")
_HTML = re.compile(r"^\s*<[!/?]?[a-zA-Z]")
_HTML_END = re.compile(r"</?[a-zA-Z][a-zA-Z0-9]*(\s[^<>]*)?/?>")
_QUOTE = re.compile(r"^\s*>")
_FENCE = re.compile(r"^\s*(```|~~~)")
_WORD = re.compile(r"[A-Za-z]{3,}")
_NUMBERS = re.compile(r"^\s*[+-]?\d[\d.]*\s*([,;\t]\s*[+-]?[\d.]+\s*)+$")
_LONE_NUMBERS = re.compile(r"^\s*[+-]?\d[\d.,]*(\s+[+-]?\d[\d.,]*)*\s*$")
_MACRO = re.compile(
    r"^\s*/?\s*(N\s*\d+)?\s*(IF\b.*\b(GOTO|THEN)\b|IF\s*\[|WHILE\s*\[|GOTO\s*[\[#\d]|END\s*\d|DO\s*\d)",
    re.IGNORECASE,
)
_KNOWN = frozenset((*FUNCTIONS, *OPERATORS, "msg"))

KINDS = {
    "merge": "a mark left by merging two versions of a file",
    "html": "HTML, the text of a web page",
    "quote": "quoted mail text, marked with >",
    "fence": "a mark of formatted text around a program",
    "prose": "plain text outside a comment",
    "table": "a table of numbers without letters",
    "diff": "a mark of a file comparison",
    "shell": "a settings line of a controller or a command, not a program block",
}


def is_macro_statement(text: str) -> bool:
    """Whether a line is a jump or loop statement of the ``IF ... GOTO``, ``WHILE ... DO`` kind."""
    return _MACRO.match(text) is not None


def foreign_kind(text: str) -> str | None:
    """Kind of a line that is not G-code, a key of KINDS, or None when it looks like faulty G-code.

    text: The line.
    Returns: The kind.

    >>> foreign_kind("<<<<<<< HEAD"), foreign_kind("please drill the holes first"), foreign_kind("G1 X1O")
    ('merge', 'prose', None)
    """
    if _MERGE.match(text):
        return "merge"
    if _HTML.match(text) or (_HTML_END.search(text) and ">" in text):
        return "html"
    if _QUOTE.match(text):
        return "quote"
    if _FENCE.match(text):
        return "fence"
    if text.startswith(("@@ ", "diff --git", "+++ ", "--- ")):
        return "diff"
    if text.lstrip().startswith(("$", "#!")):
        return "shell"
    bare = re.sub(r"\([^()]*\)|;.*|\(.*$", " ", text)
    if _NUMBERS.match(bare) or _LONE_NUMBERS.match(bare):
        return "table"
    words = [word for word in _WORD.findall(bare) if word.lower() not in _KNOWN]
    shown = sum(not character.isspace() for character in bare)
    if words and shown and "[" not in bare and sum(map(len, words)) >= 0.45 * shown:
        return "prose"
    pieces = bare.split()
    wordy = [piece for piece in pieces if piece.strip(".,:!?'\"").isalpha() and len(piece) > 1]
    if len(pieces) >= 3 and len(wordy) >= 0.6 * len(pieces):
        return "prose"
    return None
