"""The table of symptoms: what is seen at the machine, one telling question, causes and first changes."""

from __future__ import annotations

from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path
from typing import Final, Literal, get_args

from pydantic import Field

from millcalc.errors import InputError
from millcalc.tables.values import Row
from millcalc.tables.yaml_lines import load_marked, validate

EvidenceName = Literal[
    "none",
    "rubbing",
    "chip-low",
    "chatter",
    "deflection",
    "deflection-cutter",
    "power",
    "thrust",
    "thrust-z",
    "axial",
    "strength",
    "chip-room",
    "plunge",
    "acceleration",
    "corner",
    "heat",
    "soft",
    "flutes",
    "runout",
    "backlash",
    "wear",
    "up-cut",
]
ChangeName = Literal[
    "chip-up",
    "speed-down",
    "speed-up",
    "speed-tune",
    "speed-for-reached-feed",
    "depth-half",
    "depth-less",
    "width-less",
    "stepover-less",
    "stickout-less",
    "feed-less",
    "finish-feed",
    "finish-pass",
    "corner-feed",
    "ramp",
    "plunge-less",
    "one-flute",
]
EVIDENCE: Final[tuple[str, ...]] = get_args(EvidenceName)
CHANGES: Final[tuple[str, ...]] = get_args(ChangeName)


class Cause(Row):
    """One row: an answer to the question, the cause it points at, and what to change first.

    answer: Key typed after ``--answer``.
    says: What the person answers.
    family: Material families the row is for; empty for all.
    cause: The cause.
    evidence: Number of the model that speaks for it.
    changes: Computed changes, first one first.
    then: What to do when that is not enough.
    never: What makes it worse.
    look: What to look for after the change.
    """

    answer: str
    says: str
    family: tuple[str, ...] = ()
    cause: str
    evidence: EvidenceName
    changes: tuple[ChangeName, ...]
    then: str
    never: str
    look: str


class Symptom(Row):
    """A symptom with its question.

    title: What is seen or heard.
    words: Words it is found by.
    ask: The one question.
    stop: What must be done before anything else; empty when nothing is urgent.
    rows: Answers with their causes.
    """

    title: str
    words: tuple[str, ...]
    ask: str
    stop: str = ""
    rows: tuple[Cause, ...] = Field(min_length=2)


@lru_cache(maxsize=1)
def symptoms() -> dict[str, Symptom]:
    """Load the table of symptoms.

    Returns: By key.
    Raises InputError: If the table that comes with millcalc is damaged.
    """
    path = Path(__file__).with_name("symptoms.yaml")
    data, marks = load_marked(path)
    found = {}
    for key, entry in data.items():
        inside = {tuple(mark[1:]): line for mark, line in marks.items() if mark[:1] == (key,)}
        found[str(key)] = validate(Symptom, entry, inside, path)
    return found


def find_symptom(text: str) -> tuple[str, Symptom]:
    """A symptom by its key or by a word for it.

    text: What the person typed.
    Returns: Key and row.
    Raises InputError: If no symptom, or more than one, goes by that word.

    >>> find_symptom("built-up edge")[0]
    'welding'
    """
    table = symptoms()
    wanted = " ".join(text.strip().lower().replace("_", " ").split())
    if wanted.replace(" ", "-") in table:
        key = wanted.replace(" ", "-")
        return key, table[key]
    exact = [key for key, one in table.items() if wanted in one.words]
    found = exact or [
        key
        for key, one in table.items()
        if wanted and any(set(wanted.split()) & set(word.split()) for word in (*one.words, one.title.lower()))
    ]
    if len(found) == 1:
        return found[0], table[found[0]]
    if found:
        accepted = "; ".join(f"{key} ({table[key].title})" for key in found)
        raise InputError(repr(text), accepted, "it may be several things: choose one", field="symptom")
    spelled = {word: key for key, one in table.items() for word in (key, *one.words)}
    close = list(dict.fromkeys(spelled[word] for word in get_close_matches(wanted, spelled, 4, 0.6)))
    accepted = "; ".join(f"{key} ({table[key].title})" for key in (close or table))
    raise InputError(repr(text), accepted, field="symptom")
