"""Choosing from the tables at a prompt: by number, by name, or by what it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from millcalc.errors import InputError, UsageError

Ask = Callable[[str], str]
Say = Callable[[str], None]
UNKNOWN: Final = ("", "?", "unknown", "skip")  # answers that leave a field unknown
_TRIES: Final = 10  # answers to one question before giving up: a person corrects in two or three
_SHOWN: Final = 15  # choices listed at once; the rest is found by typing


def choose(
    what: str,
    names: Sequence[tuple[str, str]],
    ask: Ask,
    say: Say,
    *,
    kind: str = "",
    first: str = "",
    optional: bool = False,
) -> str:
    """Let the person choose one row of a table.

    what: The question; nothing is listed before the first answer where it is empty.
    names: Name and title of each choice.
    ask, say: Put a question to the person; show a line.
    kind: ``cutters``, ``materials`` or ``machines``: whose names and descriptions may be typed, too.
    first: An answer that was given before.
    optional: Whether an empty answer, or ``?``, leaves it unknown.
    Returns: The name; empty for unknown.
    Raises UsageError: After ten answers that choose nothing.
    """
    if what:
        say(what)
        list_choices(names, say, kind)
    prompt = f"number or name{' (empty: unknown)' if optional else ''}: "
    for _ in range(_TRIES):
        text, first = (first or ask(prompt)).strip(), ""
        if optional and text.lower() in UNKNOWN:
            return ""
        found = _chosen(text, names, kind)
        if isinstance(found, str):
            return found
        if found:
            names = found
            list_choices(names, say, kind)
        else:
            say(
                f"  {text or 'nothing'}: not among them; give a number from 1 to {min(len(names), _SHOWN)}, or a name"
            )
    raise UsageError(f"{what}: no choice after {_TRIES} answers")


def list_choices(names: Sequence[tuple[str, str]], say: Say, kind: str = "") -> None:
    """Show the first of some choices, numbered, and how the others are found.

    names: Name and title of each.
    say: Shows a line.
    kind: ``cutters``, ``materials`` or ``machines``.
    """
    room = max((len(name) for name, _ in names[:_SHOWN]), default=0) + 1
    for number, (name, title) in enumerate(names[:_SHOWN], 1):
        say(f"  {number:>2}  {name:<{room}} {title}".rstrip())
    if len(names) > _SHOWN:
        how = ", or a size such as 6mm 1 flute" if kind == "cutters" else ""
        say(f"  and {len(names) - _SHOWN} more: type part of a name{how}")


def _chosen(text: str, names: Sequence[tuple[str, str]], kind: str) -> str | list[tuple[str, str]]:
    """The name chosen, or the choices that an answer leaves."""
    if text.isdigit() and 1 <= int(text) <= min(len(names), _SHOWN):
        return names[int(text) - 1][0]
    known = dict(names)
    if text in known:
        return text
    left = [(name, title) for name, title in names if text and text.lower() in f"{name} {title}".lower()]
    if not left and kind and text:
        left = [(name, known[name]) for name in _described(text, kind) if name in known]
    return left[0][0] if len(left) == 1 else left


def _described(text: str, kind: str) -> list[str]:
    """Names of the rows that another name, or a size and flutes, fits."""
    from millcalc.tables.cutter_search import matching
    from millcalc.tables.locate import search_roots
    from millcalc.tables.names import aliases_of, files_of, slug

    files = files_of(kind, search_roots())  # type: ignore[arg-type]
    aliases, _ = aliases_of(files)
    if slug(text) in aliases:
        return [aliases[slug(text)]]
    return matching(text, files) if kind == "cutters" else []


def table_choices(kind: str, only: Sequence[str] = ()) -> list[tuple[str, str]]:
    """Names and titles of a table, plain flat cutters first, or those that are named.

    kind: ``cutters``, ``materials`` or ``machines``.
    only: Names to keep, in this order; all when empty.
    """
    from millcalc.tables import summaries
    from millcalc.tables.cutter_search import plain_flat

    listed, _ = summaries(kind)
    titles = {one.name: one.title for one in listed}
    names = list(only) or sorted(titles, key=lambda name: (kind == "cutters" and not plain_flat(name), name))
    return [(name, titles.get(name, "")) for name in names]


def validated(
    question: str,
    read: Callable[[str], object],
    ask: Ask,
    say: Say,
    *,
    default: str = "",
    needed: bool = False,
) -> str:
    """Ask until the answer can be read; an empty one takes the default.

    question: What is asked.
    read: Reads the answer; raises ValueError or InputError where it cannot be.
    ask, say: Put a question to the person; show a line.
    default: Stands for an empty answer; may be empty.
    needed: Whether an empty answer is asked again.
    Returns: The text as typed, or the default.
    Raises UsageError: After ten answers in vain.
    """
    hint = f" [{default}]" if default else "" if needed else " (empty: typical of the class)"
    for _ in range(_TRIES):
        text = ask(f"{question}{hint}: ").strip()
        if not text and not needed:
            return default
        try:
            read(text)
        except (ValueError, InputError) as problem:
            say(f"  {problem}")
            continue
        return text
    raise UsageError(f"{question}: no answer that can be read after {_TRIES}")
