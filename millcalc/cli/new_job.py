"""Questions of ``millcalc new job`` at a terminal: what the tables hold is chosen by number, part of a name or size."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from millcalc.cli.choose import UNKNOWN, Ask, Say, choose, list_choices, table_choices
from millcalc.job import Question

_TABLES: Final = {"machine": "machines", "material": "materials"}


class Choosing:
    """Puts the questions of a job to a person at a terminal.

    ask, say: Put a text to the person; show a line.
    """

    def __init__(self, ask: Ask, say: Say) -> None:
        self._ask, self._say = ask, say
        self._listed = False

    def __call__(self, question: Question) -> str:
        """Ask one question.

        question: Of the job.
        Returns: The answer as a pipe would give it: a name where the person gave a number or a size.
        """
        if question.key in _TABLES and not question.problem:
            kind = _TABLES[question.key]
            return choose(question.head, self._names(kind), self._ask, self._say, kind=kind, optional=True)
        if question.key == "cutters":
            return self._cutter(question)
        if len(question.choices) > 1:
            return self._word(question)
        return self._ask(str(question))

    def _names(self, kind: str) -> list[tuple[str, str]]:
        """Names and titles of a table, the shop's own first."""
        from millcalc.advise.others import owned_names
        from millcalc.tables import load_shop

        shop = load_shop()
        own = ([shop.machine] if shop is not None else []) if kind == "machines" else []
        own = owned_names(shop) if kind == "cutters" else own
        listed = dict(table_choices(kind))
        return [(name, listed.get(name, "")) for name in dict.fromkeys([*own, *listed])]

    def _cutter(self, question: Question) -> str:
        """A line such as ``1, 6mm 1 flute, 22`` with the cutter's name in it."""
        names = self._names("cutters")
        if not self._listed:
            self._listed = True
            self._say("cutters, to be named by number, name or size:")
            list_choices(names, self._say, "cutters")
        text = self._ask(str(question))
        parts = [part.strip() for part in re.split(r"[;,]", text)]
        if len(parts) < 2 or not parts[1] or parts[1].lower() in UNKNOWN:
            return text
        found = choose("", names, self._ask, self._say, kind="cutters", first=parts[1], optional=True)
        parts[1] = found or parts[1]
        self._say(f"  {parts[1]}")
        return ", ".join(parts)

    def _word(self, question: Question) -> str:
        """One of a few words, by its number or its beginning."""
        numbered = ", ".join(f"{number} {word}" for number, word in enumerate(question.choices, 1))
        text = self._ask(str(replace(question, note=numbered))).strip()
        if text.isdigit() and 1 <= int(text) <= len(question.choices):
            return question.choices[int(text) - 1]
        return text
