"""Ask a person for the ten lines of a set-up; an empty answer leaves the field unknown."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, TypeVar

from millcalc import units
from millcalc.errors import JobError, TableError, UsageError
from millcalc.job.ask_hold import HOLD_NOTE, HOLD_TEXT, read_hold
from millcalc.job.models import Bed, Clamp, Job, JobCutter, Screw, SpindleSetting, Stock, Zero
from millcalc.job.screws import screw_size
from millcalc.job.write import write_job
from millcalc.tables import load_cutter, load_machine, load_material

Answer = TypeVar("Answer")
_TRIES: Final = 10  # answers to one question before giving up: a person corrects in two or three
_UNKNOWN: Final = ("", "?", "unknown", "skip")


@dataclass(frozen=True, slots=True)
class Question:
    """One question at the prompt.

    key: Dotted job field, or group, that the answer fills.
    text: The question.
    note: How to answer, with an example.
    choices: The accepted words, where there are only some.
    default: Answer that an empty one stands for; empty for "unknown".
    problem: What was wrong with the answer before; empty the first time.
    """

    key: str
    text: str
    note: str = ""
    choices: tuple[str, ...] = ()
    default: str = ""
    problem: str = ""

    def __str__(self) -> str:
        """The question as it stands at a prompt: what was wrong, the question, how to answer."""
        wrong = f"  {self.problem}\n" if self.problem else ""
        note = f" ({self.note})" if self.note else ""
        return f"{wrong}{self.head}{note}{f' [{self.default}]' if self.default else ''}\n> "

    @property
    def head(self) -> str:
        """How far the questions have come, and the question itself."""
        return f"{_step(self.key)}: {self.text}"


Ask = Callable[[Question], str]
_STEPS: Final = ("units", "machine", "material", "stock", "zero", "bed", "held", "cutters", "spindle", "cooling",
                 "program")  # fmt: skip
_OF: Final = {
    "grade_known": "material",
    "screws": "held",
    "clamps": "held",
    "hold": "held",
    "title": "program",
}


def _step(key: str) -> str:
    """How far the questions have come: ``4 of 11``."""
    group = key.split(".")[0]
    return f"{_STEPS.index(_OF.get(group, group)) + 1} of {len(_STEPS)}"


def run_new_job(path: Path | str, ask: Ask, say: Callable[[str], None]) -> Job:
    """Ask for a set-up and write it to a new file.

    path: File to write; it must not exist yet.
    ask: Puts a question to the person and gives the answer.
    say: Shows a line to the person.
    Returns: The job that was written.
    Raises JobError: If the file exists or cannot be written; checked before the first question.
    Raises UsageError: If one question was answered in vain too often.
    """
    file = Path(path)
    if file.exists() or file.is_symlink():
        raise JobError(
            "a file that exists already", "a new name", "choose another, or remove it", file=str(path)
        )
    if not file.parent.is_dir():
        raise JobError("a folder that does not exist", "an existing folder", "make it first", file=str(path))
    say(
        f"{len(_STEPS)} short steps. An empty answer leaves a field unknown: its checks are then not made, and the "
        "report says so. Lengths may carry their unit: 6 mm, 1/4 in."
    )
    job = ask_job(ask)
    if job == Job():
        raise UsageError(
            "nothing was answered, so nothing was written: answer at a terminal, or copy a shipped job "
            "(millcalc demo -o FOLDER)"
        )
    write_job(job, file)
    say(f"Wrote {path}. Fields still unknown stand in it as comments, to be filled in later.")
    program = "PROGRAM.nc" if job.program is None else file.parent / job.program
    say(f"next: millcalc check {program} --job {path}")
    return job


def ask_job(ask: Ask) -> Job:
    """Ask for a set-up.

    ask: Puts a question to the person and gives the answer; asked again, with the problem named, when the
      answer cannot be used.
    Returns: The job; unanswered fields are unknown.
    Raises UsageError: If one question was answered in vain too often.
    """
    system = _one(
        ask, _choice("units", "Which unit do you write lengths in?", ("mm", "in"), default="mm"), str
    )
    told: dict[str, Any] = {
        "units": system or "mm",
        "machine": _one(ask, _MACHINE, _known(load_machine)),
        "material": _one(ask, _MATERIAL, _known(load_material)),
    }
    if told["material"] is not None:
        told["grade_known"] = _one(ask, _GRADE, _yes_no)
    unit = told["units"]
    told["stock"] = _one(ask, _STOCK, lambda text: _stock(text, unit)) or Stock()
    told["zero"] = Zero.model_validate({"xy": _one(ask, _ZERO_XY, str), "z": _one(ask, _ZERO_Z, str)})
    told["bed"] = Bed(
        spoilboard_mm=_one(ask, _SPOILBOARD, lambda text: units.length_mm(text, unit)),
        below=_literal(_one(ask, _BELOW, str)),
        drop_mm=_one(ask, _DROP, lambda text: _above_zero(units.length_mm(text, unit))),
    )
    told["screws"] = _many(ask, _SCREWS, lambda text: _screw(text, unit))
    told["clamps"] = _many(ask, _CLAMPS, lambda text: _clamp(text, unit))
    told["hold"] = _many(ask, _HOLD, lambda text: read_hold(text, unit))
    cutters = _many(ask, _CUTTERS, lambda text: _cutter(text, unit))
    told["cutters"] = dict(cutters or ())
    set_by = _one(ask, _SPINDLE, str)
    mark = _one(ask, _DIAL, str) if set_by == "dial" else None
    told["spindle"] = SpindleSetting.model_validate({"set_by": set_by, "dial_mark": mark})
    told["cooling"] = _one(ask, _COOLING, str)
    told["program"] = _one(ask, _PROGRAM, str)
    told["title"] = _one(ask, _TITLE, str) or ""
    return Job.model_validate(told)


def _choice(key: str, text: str, choices: tuple[str, ...], note: str = "", default: str = "") -> Question:
    """A question with a few accepted words."""
    return Question(key, text, note or f"one of {', '.join(choices)}", choices, default)


_MACHINE: Final = Question("machine", "Which machine?", "a name from `millcalc tables machines`")
_MATERIAL: Final = Question("material", "Which material?", "a name from `millcalc tables materials`")
_GRADE: Final = _choice(
    "grade_known", "Is the grade known for certain, from a label or the supplier?", ("yes", "no")
)
_STOCK: Final = Question(
    "stock", "Stock size X x Y x thickness?", "such as 160 x 110 x 6; ? for a size you do not know"
)
_ZERO_XY: Final = _choice(
    "zero.xy",
    "Where on the stock is X0 Y0?",
    ("front-left", "front-right", "back-left", "back-right", "centre"),
)
_ZERO_Z: Final = _choice(
    "zero.z",
    "On which surface is Z0?",
    ("stock top", "bed top"),
    "stock top, or bed top: what the stock lies on",
)
_SPOILBOARD: Final = Question(
    "bed.spoilboard", "How thick is the sacrificial board under the stock?", "0 for none"
)
_BELOW: Final = _choice("bed.below", "What is below that board?", ("wood", "metal", "nothing"))
_DROP: Final = Question(
    "bed.drop",
    "How far is it from the Z carriage's lowest bearing to the cutter tip, while cutting?",
    "such as 120",
)
_SCREWS: Final = Question(
    "screws",
    "Hold-down screws, one a line: X, Y, size, measured or guessed",
    "such as 8, 8, M4 pan, measured; instead of a size: head diameter x head height, as 9 x 3; none; empty ends",
)
_CLAMPS: Final = Question(
    "clamps",
    "Clamps or other things to stay away from, one a line: X from, X to, Y from, Y to, height above the stock",
    "such as -20, 5, 40, 70, 25; none; empty ends",
)
_HOLD: Final = Question("hold", HOLD_TEXT, HOLD_NOTE)
_CUTTERS: Final = Question(
    "cutters",
    "Cutters, one a line: tool number, name, stickout from the collet face",
    "such as 1, NAME, 22, with a name from `millcalc tables cutters`; empty ends",
)
_SPINDLE: Final = _choice("spindle.set_by", "What sets the spindle speed?", ("program", "dial", "fixed"))
_DIAL: Final = Question("spindle.dial_mark", "Which mark is the dial set to?", "as printed on it")
_COOLING: Final = _choice("cooling", "Cooling?", ("none", "air", "brush", "mist", "flood"))
_PROGRAM: Final = Question("program", "Which program file?", "relative to the job file")
_TITLE: Final = Question("title", "A name for this job?")


def _one(ask: Ask, question: Question, read: Callable[[str], Answer]) -> Answer | None:
    """Ask until the answer can be read; None for unknown."""
    for _ in range(_TRIES):
        answer = ask(question).strip() or question.default
        if answer.lower() in _UNKNOWN:
            return None
        try:
            return read(_chosen(answer, question.choices))
        except ValueError as problem:
            question = replace(question, problem=str(problem))
    raise UsageError(f"no usable answer to '{question.text}' in {_TRIES} tries: {question.problem}")


def _many(ask: Ask, question: Question, read: Callable[[str], Answer]) -> tuple[Answer, ...] | None:
    """Ask for lines until an empty one; None when nothing is known, an empty tuple for ``none``."""
    found: list[Answer] = []
    while True:
        none_at_all = False

        def line(text: str) -> Answer | None:
            nonlocal none_at_all
            if text.lower() == "none":
                none_at_all = True
                return None
            return read(text)

        entry = _one(ask, question, line)
        if none_at_all:
            return tuple(found)
        if entry is None:
            return tuple(found) if found else None
        found.append(entry)
        question = replace(question, text=f"{question.key}: one more, or empty", note="")


def _chosen(answer: str, choices: tuple[str, ...]) -> str:
    """One of the choices from its beginning, whatever the case; any text where there are no choices."""
    if not choices:
        return answer
    plain = " ".join(answer.lower().split())
    exact = [word for word in choices if word == plain]
    near = exact or [word for word in choices if word.startswith(plain)]
    if len(near) != 1:
        raise ValueError(f"found {answer!r}; write one of {', '.join(choices)}")
    return near[0]


def _known(load: Callable[[str], Any]) -> Callable[[str], str]:
    """A reader that accepts names of a table only."""

    def read(text: str) -> str:
        try:
            return str(load(text).name)
        except TableError as problem:
            raise ValueError(f"found {problem.found}; accepted: {problem.accepted}") from None

    return read


def _yes_no(text: str) -> bool:
    """True for yes."""
    return text == "yes"


def _literal(text: str | None) -> Any:
    """A word that was chosen from a list already."""
    return text


def _above_zero(value: float) -> float:
    """The value, if it is above zero."""
    if value <= 0:
        raise ValueError("found 0; write a value above zero")
    return value


def _parts(text: str, least: int, most: int, shape: str) -> list[str]:
    """An answer split at its commas or semicolons."""
    parts = [part.strip() for part in re.split(r"[;,]", text)]
    if not least <= len(parts) <= most or "" in parts:
        raise ValueError(f"found {text!r}; write {shape}")
    return parts


def _stock(text: str, unit: str) -> Stock:
    """``160 x 110 x 6``, each part a length or a question mark."""
    parts = [part.strip() for part in re.split(r"[xX×*;,]", text)]
    if len(parts) != 3:
        raise ValueError(
            f"found {text!r}; write three sizes such as 160 x 110 x 6, with ? for an unknown one"
        )
    names = ("size_x_mm", "size_y_mm", "thickness_mm")
    sizes = {
        name: None if part.lower() in _UNKNOWN else _above_zero(units.length_mm(part, unit, what=name))
        for name, part in zip(names, parts, strict=True)
    }
    return Stock.model_validate(sizes)


def _screw(text: str, unit: str) -> Screw:
    """``8, 8, M4 pan, measured``."""
    parts = _parts(text, 2, 4, "X, Y, size, measured or guessed")
    told: dict[str, Any] = {
        "x_mm": units.length_mm(parts[0], unit, negative=True, what="X"),
        "y_mm": units.length_mm(parts[1], unit, negative=True, what="Y"),
    }
    for part in parts[2:]:
        if part.lower() in ("measured", "guessed"):
            told["placed"] = part.lower()
        elif re.match(r"[\d.]", part):
            head = [piece.strip() for piece in re.split(r"[xX×*]", part)]
            if len(head) != 2:
                raise ValueError(f"found {part!r}; write head diameter x head height, such as 9 x 3")
            told["head_diameter_mm"] = _above_zero(units.length_mm(head[0], unit, what="head diameter"))
            told["head_height_mm"] = units.length_mm(head[1], unit, what="head height")
        else:
            try:
                told["size"] = screw_size(part).name
            except ValueError as near:
                raise ValueError(f"found {part!r}; accepted: {near}") from None
    return Screw.model_validate(told)


def _clamp(text: str, unit: str) -> Clamp:
    """``-20, 5, 40, 70, 25``."""
    parts = _parts(text, 4, 5, "X from, X to, Y from, Y to, height")
    low_x, high_x, low_y, high_y = (units.length_mm(part, unit, negative=True) for part in parts[:4])
    if low_x >= high_x or low_y >= high_y:
        raise ValueError(f"found {text!r}; write the smaller number of each pair first")
    height = units.length_mm(parts[4], unit, what="height") if len(parts) == 5 else None
    return Clamp(x_min_mm=low_x, x_max_mm=high_x, y_min_mm=low_y, y_max_mm=high_y, height_mm=height)


def _cutter(text: str, unit: str) -> tuple[int, JobCutter]:
    """``1, NAME, 22``."""
    parts = _parts(text, 2, 3, "tool number, name, stickout")
    shape = re.fullmatch(r"[Tt]?(\d{1,6})", parts[0], re.ASCII)
    if shape is None:
        raise ValueError(f"found {parts[0]!r} as a tool number; write a whole number such as 1")
    stickout = None
    if len(parts) == 3 and parts[2].lower() not in _UNKNOWN:
        stickout = _above_zero(units.length_mm(parts[2], unit, what="stickout"))
    return int(shape[1]), JobCutter(cutter=_known(load_cutter)(parts[1]), stickout_mm=stickout)
