"""Choosing from the tables at a prompt: by number, by name, or by what it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from millcalc.errors import InputError, UsageError

Ask = Callable[[str], str]
Say = Callable[[str], None]
_TRIES: Final = 10  # answers to one question before giving up: a person corrects in two or three
_SHOWN: Final = 15  # choices listed at once; the rest is found by typing


def choose(what: str, names: Sequence[tuple[str, str]], ask: Ask, say: Say, *, kind: str = "") -> str:
    """Let the person choose one row of a table.

    what: The question; nothing is listed before the first answer where it is empty.
    names: Name and title of each choice.
    ask, say: Put a question to the person; show a line.
    kind: ``cutters``, ``materials`` or ``machines``: whose names and descriptions may be typed, too.
    Returns: The name.
    Raises UsageError: After ten answers that choose nothing.
    """
    if what:
        say(what)
        _list(names, say)
    if what and len(names) > _SHOWN:
        say(
            f"  and {len(names) - _SHOWN} more: type part of a name"
            + (", or 6mm 1 flute" * (kind == "cutters"))
        )
    for _ in range(_TRIES):
        text = ask("number or name: ").strip()
        found = _chosen(text, names, kind)
        if isinstance(found, str):
            return found
        if found:
            names = found
            _list(names, say)
        else:
            say(
                f"  {text or 'nothing'}: not among them; give a number from 1 to {min(len(names), _SHOWN)}, or a name"
            )
    raise UsageError(f"{what}: no choice after {_TRIES} answers")


def _list(names: Sequence[tuple[str, str]], say: Say) -> None:
    for number, (name, title) in enumerate(names[:_SHOWN], 1):
        say(f"  {number:>2}  {name:<28} {title}".rstrip())


def _chosen(text: str, names: Sequence[tuple[str, str]], kind: str) -> str | list[tuple[str, str]]:
    """The name chosen, or the choices that an answer leaves."""
    if text.isdigit() and 1 <= int(text) <= min(len(names), _SHOWN):
        return names[int(text) - 1][0]
    known = dict(names)
    if text in known:
        return text
    left = [(name, title) for name, title in names if text and text.lower() in f"{name} {title}".lower()]
    if not left and kind == "cutters" and text:
        from millcalc.tables.cutter_search import matching
        from millcalc.tables.locate import search_roots
        from millcalc.tables.names import files_of

        left = [(name, known.get(name, "")) for name in matching(text, files_of("cutters", search_roots()))]
    return left[0][0] if len(left) == 1 else left


def table_choices(kind: str, only: Sequence[str] = ()) -> list[tuple[str, str]]:
    """Names and titles of a table, the person's own first where some are named.

    kind: ``cutters``, ``materials`` or ``machines``.
    only: Names to keep, in this order; all when empty.
    """
    from millcalc.tables import summaries

    listed, _ = summaries(kind)
    titles = {one.name: one.title for one in listed}
    return [(name, titles.get(name, "")) for name in only or titles]


def validated(question: str, read: Callable[[str], object], ask: Ask, say: Say, *, default: str = "") -> str:
    """Ask until the answer can be read; an empty one takes the default.

    question: What is asked.
    read: Reads the answer; raises ValueError or InputError where it cannot be.
    ask, say: Put a question to the person; show a line.
    default: Stands for an empty answer; may be empty.
    Returns: The text as typed, or the default.
    Raises UsageError: After ten answers in vain.
    """
    for _ in range(_TRIES):
        text = ask(f"{question}{f' [{default}]' if default else ' (empty: typical of the class)'}: ").strip()
        if not text:
            return default
        try:
            read(text)
        except (ValueError, InputError) as problem:
            say(f"  {problem}")
            continue
        return text
    raise UsageError(f"{question}: no answer that can be read after {_TRIES}")
