"""Read a job file: YAML in, a frozen Job out, every problem with its line."""

from __future__ import annotations

import re
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final, get_args

from pydantic import BaseModel

from millcalc import units
from millcalc.errors import InputError, JobError, ManyErrors
from millcalc.job.bounds import out_of_bounds
from millcalc.job.fields import QUANTITY_SUFFIXES, UNKNOWN_WORDS, model_name, written_name
from millcalc.job.hold_fields import hold_doubts
from millcalc.job.models import Job, JobCutter
from millcalc.job.screws import screw_size
from millcalc.job.tuning import MOST_ENTRIES
from millcalc.tables.yaml_lines import Key, Marks, dotted, line_of, load_marked, parse_marked, validate

_GUIDE: Final = "see docs/job-file.md"


def load_job(path: Path | str) -> Job:
    """Load a job file.

    path: File to read.
    Returns: The job; what the file leaves out, or calls unknown, is None.
    Raises JobError: If the file cannot be used; the text names file, line, field, what was found and what
      is accepted.
    Raises ManyErrors: If there are several such problems.

    Note: A length is a number in the file's `units`, or a text with its own unit. Fields may be written
      with or without the ending ``_mm``; with it a bare number is millimetres, which a file in inches does
      not accept.
    """
    file = Path(path)
    data, marks = load_marked(file, JobError)
    return _job(data, marks, str(path))


def parse_job(text: str, name: str = "job") -> Job:
    """Read a job from text.

    text: Content of a job file.
    name: Name shown in errors.
    Returns: The job.
    Raises JobError: As for :func:`load_job`.
    Raises ManyErrors: If there are several problems.
    """
    data, marks = parse_marked(text, name, JobError)
    return _job(data, marks, name)


def job_line(path: Path, key: Key) -> int | None:
    """Line of a job file at which a field stands.

    path: The job file.
    key: Path of the field by its model names.
    Returns: Line, 1-based [-]; None when the file cannot be read again.
    """
    try:
        data, marks = load_marked(path, JobError)
    except InputError:
        return None
    translator = _Translator(str(path), data, marks, "mm")
    translator.group(Job, data, (), ())
    return line_of(key, translator.marks)


def _job(data: Any, marks: Marks, name: str) -> Job:
    """The job of loaded data."""
    if data is None:
        raise JobError("a file without any field", "'field: value' lines", _GUIDE, file=name)
    if not isinstance(data, dict):
        sort = "a list" if isinstance(data, list) else "a single value"
        raise JobError(sort, "'field: value' lines", _GUIDE, file=name, line=line_of((), marks))
    system = "mm" if data.get("units") is None else data["units"]
    if system not in get_args(units.System):
        found = system if isinstance(system, str) else "something else"
        raise JobError(f"{found!r}", "mm or in", file=name, line=line_of(("units",), marks), field="units")
    translator = _Translator(name, data, marks, system)
    plain = translator.group(Job, data, (), ())
    _raise(translator.errors)
    job = validate(Job, plain, translator.marks, name, JobError)
    _raise(_doubts(job, translator.marks, name))
    return job


def _raise(errors: list[InputError]) -> None:
    """Raise one error, or several together."""
    if errors:
        raise errors[0] if len(errors) == 1 else ManyErrors(errors)


class _Translator:
    """Turns written names and quantities into those of the models, keeping the lines."""

    def __init__(self, file: str, root: Any, marks: Marks, system: str) -> None:
        self.file = file
        self.written = marks
        self.system = system
        self.root = root
        self.marks: Marks = {}
        self.errors: list[InputError] = []

    def fail(self, key: Key, found: str, accepted: str, action: str = "") -> None:
        """Note an error at a key of the file as written."""
        line = line_of(key, self.written)
        field = dotted(key, self.root)
        self.errors.append(JobError(found, accepted, action, file=self.file, line=line, field=field))

    def group(self, model: type[BaseModel], data: Any, written: Key, key: Key) -> Any:
        """A group of fields; anything else is left for the validation to refuse."""
        line = line_of(written, self.written)
        if line is not None:
            self.marks[key] = line
        if not isinstance(data, dict):
            return data
        result: dict[Any, Any] = {}
        for name, value in data.items():
            here = (*written, name)
            field = model_name(model, str(name)) if isinstance(name, str) else None
            if field is None:
                known = [written_name(known) for known in model.model_fields]
                close = get_close_matches(str(name), known, n=1, cutoff=0.6)
                action = f"write {close[0]}, if that is meant" if close else "remove it, or correct its name"
                if isinstance(name, int):
                    action = "write decimals with a point, if this number is what follows a decimal comma"
                self.fail(here, "a field of this name, which is not known", ", ".join(known), action)
                continue
            if field in result:
                self.fail(here, f"the same field twice, also as {written_name(field)}", "one of the two")
                continue
            plain = self.field(model, field, value, here, (*key, field))
            default = model.model_fields[field].default
            if plain is None and default is not None:
                continue  # a field left empty, or unknown, keeps its default
            result[field] = plain
        return result

    def field(self, model: type[BaseModel], name: str, value: Any, written: Key, key: Key) -> Any:
        """One field, translated by its kind."""
        line = line_of(written, self.written)
        if line is not None:
            self.marks[key] = line
        info = model.model_fields[name]
        if isinstance(value, str) and value.strip().lower() in UNKNOWN_WORDS and info.default is None:
            return None
        if name.endswith(QUANTITY_SUFFIXES) or name == "rpm":
            return self.quantity(name, value, written)
        if name == "cutters":
            return self.cutters(value, written, key)
        inner = _model_in(info.annotation)
        if inner is None:
            return value
        if name in ("screws", "clamps", "hold", "quiet"):
            return self.entries(inner, value, written, key)
        return self.group(inner, value, written, key)

    def entries(self, model: type[BaseModel], value: Any, written: Key, key: Key) -> Any:
        """A list of groups; the word none stands for an empty one."""
        if isinstance(value, str) and value.strip().lower() == "none":
            return []
        if not isinstance(value, list):
            return value
        if len(value) > MOST_ENTRIES:
            self.fail(
                written, f"{len(value)} {key[-1]}", f"at most {MOST_ENTRIES}", "keep those near the cut"
            )
            return []
        return [self.group(model, item, (*written, i), (*key, i)) for i, item in enumerate(value)]

    def cutters(self, value: Any, written: Key, key: Key) -> Any:
        """Cutters by tool number; ``T1`` is 1, a bare name is a cutter without further fields."""
        if not isinstance(value, dict):
            return value
        result: dict[int, Any] = {}
        for name, entry in value.items():
            here = (*written, name)
            shape = re.fullmatch(r"[Tt]?(\d{1,6})", str(name), re.ASCII)
            if shape is None:
                self.fail(here, f"{name!r} as a tool number", "a whole number such as 1 or T1")
                continue
            number = int(shape[1])
            if number in result:
                self.fail(here, f"tool number {number} twice", "each tool number once")
                continue
            if isinstance(entry, str):
                entry = {"cutter": entry}
            result[number] = self.group(JobCutter, entry, here, (*key, number))
        return result

    def quantity(self, name: str, value: Any, written: Key) -> Any:
        """A number with its unit, in the unit of the model and of a size that can be; None stays None."""
        number = self.number(name, value, written)
        wrong = None if number is None else out_of_bounds(name, number)
        if wrong is not None:
            self.fail(written, *wrong, "correct the number or its unit")
            return None
        return number

    def number(self, name: str, value: Any, written: Key) -> float | None:
        """A number with its unit, in the unit of the model; None stays None, or was refused."""
        if value is None:
            return None
        bare = isinstance(value, int | float) and not isinstance(value, bool)
        if bare and self.system == "in" and str(written[-1]).endswith(("_mm", "_mm2")):
            short = written_name(name)
            self.fail(
                written,
                f"{value} without a unit, under a name that says mm, in a file in inches",
                f'{short}: {value} (inches) or {short}: "{value} mm"',
            )
            return None
        try:
            if name == "rpm":
                return units.speed_rpm(value, what=name)
            if name.endswith("_kg_m3"):
                return units.density_kg_m3(value, what=name)
            if name.endswith("_n_mm2"):
                return units.stress_n_mm2(value, what=name)
            if name.endswith("_mm2"):
                return units.area_mm2(value, f"{self.system}2", what=name)
            if name.endswith("_n"):
                return units.force_n(value, what=name)
            return units.length_mm(value, self.system, negative=True, what=name)
        except ValueError as problem:
            found, _, accepted = str(problem).removeprefix(f"{name}: found ").partition("; ")
            self.fail(written, found, accepted.removeprefix("write ").removeprefix("accepted "))
            return None


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The pydantic model named in a field's type, or None."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        found = _model_in(inner)
        if found is not None:
            return found
    return None


def _doubts(job: Job, marks: Marks, name: str) -> list[InputError]:
    """What single fields cannot show: values that do not fit together."""
    errors: list[InputError] = []

    def fail(key: Key, found: str, accepted: str, action: str = "") -> None:
        line = line_of(key, marks)
        errors.append(JobError(found, accepted, action, file=name, line=line, field=dotted(key)))

    for index, screw in enumerate(job.screws or ()):
        here: Key = ("screws", index)
        if screw.size is not None:
            try:
                screw_size(screw.size)
            except ValueError as near:
                action = "or leave it out and give head_diameter, head_height and shank_diameter"
                fail((*here, "size"), repr(screw.size), str(near), action)
        head, shank = screw.head_diameter_mm, screw.shank_diameter_mm
        if head is not None and shank is not None and shank > head:
            fail(
                (*here, "shank_diameter_mm"),
                f"{shank:g} mm, above the head's {head:g} mm",
                "at most the head",
            )
    for index, clamp in enumerate(job.clamps or ()):
        for low, high, axis in (
            (clamp.x_min_mm, clamp.x_max_mm, "x"),
            (clamp.y_min_mm, clamp.y_max_mm, "y"),
        ):
            if low >= high:
                key = ("clamps", index, f"{axis}_max_mm")
                fail(key, f"{high:g} mm, not above {axis}_min {low:g} mm", f"a value above {axis}_min")
    errors += hold_doubts(job, marks, name)
    thickness, spread = job.stock.thickness_mm, job.stock.thickness_spread_mm
    if thickness is not None and spread is not None and spread >= thickness:
        fail(
            ("stock", "thickness_spread_mm"),
            f"{spread:g} mm for a plate of {thickness:g} mm",
            "less than its thickness",
        )
    return errors
