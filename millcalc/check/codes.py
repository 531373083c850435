"""Documentation of every finding code: the reader's from their catalogue, the rules' from their docstrings."""

from __future__ import annotations

from functools import cache


@cache
def _all_docs() -> dict[str, dict[str, str]]:
    from millcalc.gcode.codes import CODES
    from millcalc.preflight import all_rules

    docs = {
        entry.code: {
            "code": entry.code,
            "title": entry.title,
            "severity": entry.severity.word,
            "flags": entry.flags,
            "why": entry.why,
            "wrong": entry.wrong,
            "right": entry.right,
            "limits": entry.limits,
            "source": entry.source,
            "needs": "",
        }
        for entry in CODES.values()
    }
    for rule in all_rules():
        doc = rule.doc
        docs[rule.code] = {
            "code": rule.code,
            "title": rule.title,
            "severity": rule.severity.word,
            "flags": doc.flags or doc.summary,
            "why": doc.why,
            "wrong": doc.wrong,
            "right": doc.right,
            "limits": doc.limits,
            "source": doc.source,
            "needs": ", ".join(rule.needs),
        }
    return docs


def known_codes() -> list[str]:
    """All codes of findings, sorted.

    Returns: ``FAMILY-NN`` codes.
    """
    return sorted(_all_docs())


def code_doc(code: str) -> dict[str, str] | None:
    """What a code means.

    code: ``FAMILY-NN``.
    Returns: code, title, severity, flags, why, wrong, right, limits, source, needs; None if unknown.
    """
    return _all_docs().get(code)


def rule_table() -> str:
    """The Markdown list of all codes for README, made from the rules themselves.

    Returns: One line a family: its codes with their titles.
    """
    families: dict[str, list[str]] = {}
    for code in known_codes():
        family, number = code.split("-")
        families.setdefault(family, []).append(f"{number} {_all_docs()[code]['title']}")
    lines = ["| family | what is reported |", "|---|---|"]
    lines += [f"| {family} | {'; '.join(titles)} |" for family, titles in sorted(families.items())]
    return "\n".join(lines)
