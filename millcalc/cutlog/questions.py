"""The few questions that only the person at the machine can answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, get_args

from millcalc.cutlog import models

QUESTIONS: Final[tuple[tuple[str, str, tuple[str, ...]], ...]] = (
    ("outcome", "How did it go?", get_args(models.Outcome)),
    ("sound", "What did it sound like?", get_args(models.Sound)),
    ("chip_form", "What did the chips look like?", get_args(models.ChipForm)),
    ("finish", "Wall and floor?", get_args(models.Finish)),
    ("bit_after", "The cutter afterwards?", get_args(models.BitAfter)),
)


def choice(answer: str, options: tuple[str, ...]) -> str | None:
    """The option an answer names: its number, its name, or letters only that name begins with.

    answer: As typed.
    options: The options, numbered from 1.
    Returns: None when it names none, or more than one.
    """
    text = answer.strip().lower()
    if text.isdecimal() and 1 <= int(text) <= len(options):
        return options[int(text) - 1]
    if text in options:
        return text
    begun = [option for option in options if text and option.startswith(text)]
    return begun[0] if len(begun) == 1 else None


def _ask_one(
    ask: Callable[[str], str],
    say: Callable[[str], None],
    question: str,
    options: tuple[str, ...],
    needed: bool,
) -> str | None:
    shown = "  ".join(f"{number} {option}" for number, option in enumerate(options, 1))
    say(f"{question}  {shown}")
    for _ in range(5):
        answer = ask("  > " if needed else "  (Enter: not noted) > ")
        if not answer.strip() and not needed:
            return None
        found = choice(answer, options)
        if found is not None:
            return found
        say(f"  a number from 1 to {len(options)}, or the word")
    return None


def ask_outcome(
    known: dict[str, Any], ask: Callable[[str], str], say: Callable[[str], None]
) -> dict[str, Any]:
    """Ask what is still open of the outcome.

    known: Fields that need no asking.
    ask: Shows a prompt and gives the answer; an empty text at the end of input.
    say: Shows a line.
    Returns: The answers by field; ``outcome`` is missing when none was given.
    """
    found: dict[str, Any] = {}
    for field, question, options in QUESTIONS:
        if known.get(field) is None:
            answer = _ask_one(ask, say, question, options, field == "outcome")
            if answer is not None:
                found[field] = answer
            elif field == "outcome":
                return found
    outcome = known.get("outcome") or found.get("outcome")
    if outcome != "good" and not known.get("symptoms"):
        say("What went wrong? Several, with commas; Enter for none of these.")
        for start in range(0, len(models.SYMPTOMS), 4):
            numbered = enumerate(models.SYMPTOMS[start : start + 4], start + 1)
            say("  " + "  ".join(f"{number} {symptom}" for number, symptom in numbered))
        answers = [choice(part, models.SYMPTOMS) for part in ask("  > ").split(",")]
        found["symptoms"] = [answer for answer in answers if answer is not None]
    if known.get("feed_mm_min") is not None and known.get("override_percent") is None:
        found["override_percent"] = _percent(ask("Feed override at the knob at the end, %? (Enter: 100) > "))
    if not known.get("notes"):
        found["notes"] = ask("A line of notes (Enter: none) > ").strip()
    return {field: value for field, value in found.items() if value not in ("", [], None)}


def _percent(answer: str) -> float | None:
    """A percentage as typed; None for anything that is none."""
    try:
        value = float(answer.replace("%", "").replace(",", "."))
    except ValueError:
        return None
    return value if 0 < value <= 1000 else None
