"""From a symptom at the machine to ranked causes and the next settings, one change at a time."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.advise import tuning
from millcalc.advise.adjust_changes import Change, NotPossible, next_change
from millcalc.advise.adjust_data import Cause, Symptom, find_symptom
from millcalc.advise.adjust_evidence import Evidence, evidence_for
from millcalc.advise.in_use import InUse
from millcalc.errors import InputError
from millcalc.units_show import System


@dataclass(frozen=True)
class RankedCause:
    """A cause with its evidence and what follows from it.

    row: The row of the table.
    answered: Whether the answer points at it.
    weight: Rank, the largest first [-].
    evidence: What the model says.
    changes: Possible changes, first one first.
    not_possible: Changes that cannot be made here.
    """

    row: Cause
    answered: bool
    weight: float
    evidence: Evidence
    changes: tuple[Change, ...]
    not_possible: tuple[NotPossible, ...]


@dataclass(frozen=True)
class Adjustment:
    """The answer to a symptom.

    key: Symptom.
    symptom: Its row.
    used: Settings in use.
    causes: Likeliest first.
    contradiction: What the model says against the answer; empty when it agrees.
    """

    key: str
    symptom: Symptom
    used: InUse
    causes: tuple[RankedCause, ...]
    contradiction: str


def answers_to(symptom: Symptom, family: str | None = None) -> tuple[Cause, ...]:
    """Rows of a symptom that can apply to a material.

    symptom: The symptom.
    family: Material family; None takes all.
    Returns: Rows; all of them when none is for that family.
    """
    own = tuple(row for row in symptom.rows if not row.family or family is None or family in row.family)
    return own or symptom.rows


def adjust(text: str, used: InUse, answer: str, units: System = "mm") -> Adjustment:
    """Rank the causes of a symptom and compute the next settings.

    text: Symptom, by key or word.
    used: Settings in use.
    answer: Answer to its question.
    units: Units of the sentences.
    Returns: Causes, likeliest first.
    Raises InputError: If symptom or answer are not known.

    Note: The answer counts most, since the person has seen it; the model's evidence orders the rest and
      contradicts an answer that its numbers speak against: such an answer weighs no more than the others, so that
      the remedy is that of the likeliest cause.
    """
    key, symptom = find_symptom(text)
    rows = answers_to(symptom, used.tooling.material.family)
    wanted = answer.strip().lower()
    if wanted not in {row.answer for row in symptom.rows}:
        raise InputError(
            repr(answer),
            "; ".join(f"{row.answer} ({row.says})" for row in rows),
            f"answer the question: {symptom.ask}",
            field="--answer",
        )
    chosen = next(row for row in symptom.rows if row.answer == wanted)
    ranked = []
    doubted = evidence_for(used, chosen.evidence, units).score < tuning.ADJUST_CONTRADICTED
    for row in dict.fromkeys((chosen, *rows)):
        found = evidence_for(used, row.evidence, units)
        answered = row.answer == wanted
        weight = (1.0 if answered and not doubted else tuning.ADJUST_OTHER_WEIGHT) * (
            0.25 + 0.75 * found.score
        )
        made = [next_change(used, name, units) for name in row.changes]
        ranked.append(
            RankedCause(
                row,
                answered,
                weight,
                found,
                tuple(one for one in made if isinstance(one, Change)),
                tuple(one for one in made if isinstance(one, NotPossible)),
            )
        )
    ranked.sort(key=lambda one: -one.weight)
    own = next(one for one in ranked if one.answered)
    against = ""
    if doubted:
        other = max(
            (one for one in ranked if not one.answered), key=lambda one: one.evidence.score, default=None
        )
        against = f"the numbers speak against {own.row.cause}: {own.evidence.text}"
        if other is not None and other.evidence.score > 0.6:
            against += f"; they speak for {other.row.cause}: {other.evidence.text}"
    return Adjustment(key, symptom, used, tuple(ranked), against)
