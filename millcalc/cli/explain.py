"""``millcalc explain``: a finding's code or a word of the trade in plain language."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.options import Json
from millcalc.cli.say import say, tell

if TYPE_CHECKING:
    from millcalc.report.printer import Printer


def command(
    what: Annotated[
        list[str] | None, typer.Argument(help="A code such as SCREW-01, or a word such as chip load.")
    ] = None,
    json: Json = False,
) -> None:
    """Explain a finding's code, or a word such as "chip load", "ae" or "drop"."""
    from millcalc.errors import InputError
    from millcalc.report.words import find_word, known_spellings

    text = " ".join(what or [])
    if not text:
        _list()
        return
    word = find_word(text)
    if word is not None:
        _say_word(word.name, word.also, word.meaning, word.matters, json)
        return
    from millcalc.check.codes import code_doc, known_codes

    doc = code_doc(text.strip().upper())
    if doc is None:
        from difflib import get_close_matches

        near = get_close_matches(text.lower(), known_spellings(), 3, 0.5)
        near += get_close_matches(text.upper(), known_codes(), 3, 0.6)
        raise InputError(
            repr(text),
            "a code of a finding, or a word of the trade" + (f"; closest: {', '.join(near)}" if near else ""),
            "run `millcalc explain` for the list",
        )
    if json:
        import json as json_module

        say(json_module.dumps(doc, indent=2, ensure_ascii=False))
        return
    _say_code(doc)


def _say_word(name: str, also: tuple[str, ...], meaning: str, matters: str, as_json: bool) -> None:
    if as_json:
        import json

        data = {"word": name, "also": list(also), "meaning": meaning, "matters": matters}
        say(json.dumps(data, indent=2, ensure_ascii=False))
        return
    page = _page()
    page.say(name + (f"  (also: {', '.join(also)})" if also else ""), 0, "bold")
    for text in (meaning, matters):
        if text:
            page.say(text)


def _page() -> Printer:
    from millcalc.report.console import make_console
    from millcalc.report.printer import Printer

    return Printer(make_console(), 2)


def _say_code(doc: dict[str, str]) -> None:
    page = _page()
    page.say(f"{doc['code']}  {doc['title']}  ({doc['severity']})", 0, "bold")
    for key, value in doc.items():
        if key in ("code", "title", "severity") or not value:
            continue
        page.say(key.replace("_", " "), 0, "bold dim")
        page.say(value.replace("``", ""))


def _list() -> None:
    from millcalc.check.codes import code_doc, known_codes
    from millcalc.report.words import WORDS

    tell("words: " + ", ".join(word.name for word in WORDS))
    say("")
    for code in known_codes():
        doc = code_doc(code)
        if doc is not None:
            tell(f"{code:<10} {doc['severity']:<8} {doc['title']}")
