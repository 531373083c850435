"""Documentation of every finding code: the reader's from their catalogue, the rules' from their docstrings."""

from __future__ import annotations

import inspect
import re

_SECTIONS = ("flags", "why", "wrong", "right", "limits of the rule", "source")


def known_codes() -> list[str]:
    """All codes of findings, sorted.

    Returns
    -------
    list of str
        ``FAMILY-NN`` codes.
    """
    from millcalc.gcode.codes import CODES
    from millcalc.preflight import all_rules

    return sorted({*CODES, *(rule.code for rule in all_rules())})


def code_doc(code: str) -> dict[str, str] | None:
    """What a code means.

    Parameters
    ----------
    code : str
        ``FAMILY-NN``.

    Returns
    -------
    dict of str to str or None
        code, title, severity, then flags, why, wrong, right, limits of the rule, source; None if unknown.
    """
    from millcalc.gcode.codes import CODES
    from millcalc.preflight import all_rules

    if code in CODES:
        entry = CODES[code]
        return {
            "code": code,
            "title": entry.title,
            "severity": entry.severity.word,
            "flags": entry.flags,
            "why": entry.why,
            "wrong": entry.wrong,
            "right": entry.right,
            "limits of the rule": entry.limits,
            "source": entry.source,
        }
    for rule in all_rules():
        if rule.code == code:
            head = {"code": code, "title": rule.title, "severity": rule.severity.word}
            return {
                **head,
                **doc_sections(inspect.getdoc(rule.function) or ""),
                "needs": ", ".join(rule.needs),
            }
    return None


def doc_sections(docstring: str) -> dict[str, str]:
    """The sections of a rule's docstring.

    Parameters
    ----------
    docstring : str
        First a sentence, then sections that start with ``Flags:``, ``Why:`` and so on, or with a numpy-style
        underlined heading.

    Returns
    -------
    dict of str to str
        ``what`` for the first paragraph, then the sections that are there.
    """
    sections: dict[str, list[str]] = {"what": []}
    current = "what"
    for line in docstring.splitlines():
        heading = re.match(r"^([A-Z][A-Za-z ]+?)(?::\s*(.*))?$", line)
        name = heading.group(1).lower() if heading else ""
        if name in _SECTIONS:
            current = name
            sections[current] = [heading.group(2)] if heading and heading.group(2) else []
        elif not re.match(r"^-{3,}$", line):
            sections[current].append(line)
    return {
        name: re.sub(r"\s*\n\s*", " ", "\n".join(lines).strip())
        if name not in ("wrong", "right")
        else "\n".join(lines).strip()
        for name, lines in sections.items()
    }
