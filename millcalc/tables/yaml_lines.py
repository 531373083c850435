"""YAML files with the line of every value kept, so that an error can name its place.

Takes a path, gives plain dicts, lists and scalars with a map from each value's path to its line; validates
them against a pydantic model with errors that read ``file:line: field: found ...; accepted: ...; do: ...``.
Imports errors only. Scalars follow the YAML 1.2 core rules (``true``/``false``, decimal numbers); everything
else plain is text, so that ``on``, ``08`` or a date never turn into something the person did not write.
"""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import yaml

from millcalc.errors import InputError, TableError
from millcalc.files import refuse_odd
from millcalc.tables.yaml_errors import Key, Marks, dotted, line_of, shown, validate

__all__ = [
    "Key",
    "Marks",
    "dotted",
    "line_of",
    "load_marked",
    "parse_marked",
    "read_text",
    "scalar",
    "shown",
    "validate",
]

MAX_BYTES: Final = (
    1_000_000  # byte: far above any table or job a person writes; bounds the work on hostile input
)
MAX_NODES: Final = 200_000  # values: bounds what aliases can unfold to
_KEPT_MOST: Final = 20_000  # characters of a text that is kept once it is parsed
_INT: Final = re.compile(r"[+-]?\d{1,18}", re.ASCII)
_FLOAT: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_WORDS: Final[dict[str, object]] = {
    "": None, "~": None, "null": None, "Null": None, "NULL": None,
    "true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False,
    ".nan": float("nan"), ".NaN": float("nan"), ".NAN": float("nan"),
    ".inf": float("inf"), ".Inf": float("inf"), "+.inf": float("inf"), "-.inf": float("-inf"),
}  # fmt: skip
_LOADER: Final[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def load_marked(path: Path, kind: type[InputError] = TableError) -> tuple[Any, Marks]:
    """Read a YAML file and remember the line of every key and list item.

    path: File to read.
    kind: Exception to raise.
    Returns: data: The content; None for a file with comments only. marks: Line of each value, 1-based [-],
      by its path of keys and list positions.
    Raises InputError: Of the given kind: absent, a directory, unreadable, too large, binary, not UTF-8,
      empty, not YAML, a key given twice, a value that contains itself.
    """
    return parse_marked(read_text(path, kind), str(path), kind)


def read_text(path: Path, kind: type[InputError] = TableError) -> str:
    """Read a text file a person wrote.

    path: File to read.
    kind: Exception to raise.
    Returns: The text, without a byte-order mark.
    Raises InputError: Of the given kind: absent, a directory, unreadable, too large, binary, not UTF-8,
      empty.
    """
    name = str(path)
    wanted = "a text file in YAML"
    try:
        if path.is_dir():
            raise kind("a directory", wanted, "name the file inside it", file=name)
        refuse_odd(path, kind=kind)
        if path.stat().st_size > MAX_BYTES:
            raise kind(f"a file of {path.stat().st_size} bytes", f"at most {MAX_BYTES} bytes", file=name)
        raw = path.read_bytes()
    except FileNotFoundError:
        raise kind("no such file", wanted, "check the name and the folder", file=name) from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise kind(f"a file that cannot be read ({reason})", wanted, file=name) from None
    if b"\0" in raw:
        raise kind("a binary file", wanted, file=name)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        raise kind(
            f"a byte that is not UTF-8 (0x{raw[problem.start]:02x})",
            wanted,
            "save it as UTF-8",
            file=name,
            line=line,
        ) from None
    if not text.strip():
        raise kind("an empty file", wanted, file=name)
    return text


def parse_marked(text: str, name: str, kind: type[InputError] = TableError) -> tuple[Any, Marks]:
    """Parse YAML text and remember the line of every key and list item.

    text: The text.
    name: File name for errors.
    kind: Exception to raise.
    Returns: data: The content; None for comments only. marks: Line of each value, 1-based [-], by its path.
    Raises InputError: Of the given kind, when it is not usable YAML.
    """
    asked: tuple[Any, ...] = (text, name, kind)
    data, marks = (_parsed if len(text) <= _KEPT_MOST else _parse)(*asked)
    return _copied(data), dict(marks)


def _copied(data: Any) -> Any:
    """The same in lists and dictionaries of its own: who reads a table fills it in."""
    if isinstance(data, dict):
        return {key: _copied(value) for key, value in data.items()}
    return [_copied(value) for value in data] if isinstance(data, list) else data


def _parse(text: str, name: str, kind: type[InputError]) -> tuple[Any, Marks]:
    loader = None
    try:
        loader = _LOADER(text)
        node = loader.get_single_node()
        return _Builder(name, kind).build(node)
    except yaml.MarkedYAMLError as problem:
        mark = problem.problem_mark or problem.context_mark
        raise kind(
            f"text that is not YAML ({problem.problem or problem.context})",
            "'field: value' lines, indented with spaces",
            "look at this line and the one above it",
            file=name,
            line=None if mark is None else mark.line + 1,
        ) from None
    except (yaml.YAMLError, RecursionError) as problem:
        reason = "nested too deeply" if isinstance(problem, RecursionError) else str(problem).split("\n")[0]
        raise kind(f"text that is not YAML ({reason})", "'field: value' lines", file=name) from None
    finally:
        if loader is not None:
            loader.dispose()


@lru_cache(maxsize=128)  # a page, and a folder of programs, ask for the same tables again and again
def _parsed(text: str, name: str, kind: type[InputError]) -> tuple[Any, Marks]:
    return _parse(text, name, kind)


class _Builder:
    """Turns a node tree into plain data and marks."""

    def __init__(self, name: str, kind: type[InputError]) -> None:
        self.name = name
        self.kind = kind
        self.marks: Marks = {}
        self.open: set[int] = set()
        self.count = 0

    def build(self, node: Any) -> tuple[Any, Marks]:
        """Data and marks of the root node."""
        if node is None:
            return None, {}
        self.marks[()] = node.start_mark.line + 1
        return self.value(node, ()), self.marks

    def fail(self, node: Any, found: str, accepted: str, key: Key) -> InputError:
        """An error at a node."""
        return self.kind(
            found, accepted, file=self.name, line=node.start_mark.line + 1, field=dotted(key) or None
        )

    def value(self, node: Any, key: Key) -> Any:
        """The plain value of a node."""
        self.count += 1
        if self.count > MAX_NODES:
            raise self.fail(node, f"more than {MAX_NODES} values", "fewer", ())
        if isinstance(node, yaml.ScalarNode):
            return scalar(node.value) if not node.style and _is_core(node.tag) else node.value
        if id(node) in self.open:
            raise self.fail(node, "a value that contains itself", "values without loops", key)
        self.open.add(id(node))
        try:
            if isinstance(node, yaml.SequenceNode):
                for index, item in enumerate(node.value):
                    self.marks.setdefault((*key, index), item.start_mark.line + 1)
                return [self.value(item, (*key, index)) for index, item in enumerate(node.value)]
            return self.mapping(node, key)
        finally:
            self.open.discard(id(node))

    def mapping(self, node: Any, key: Key) -> dict[str | int, Any]:
        """A mapping, its keys checked."""
        result: dict[str | int, Any] = {}
        for name_node, value_node in node.value:
            if not isinstance(name_node, yaml.ScalarNode):
                raise self.fail(name_node, "a list or group used as a field name", "a word or number", key)
            if name_node.tag == "tag:yaml.org,2002:merge":
                raise self.fail(name_node, "a merge key <<", "each field written out", key)
            plain = scalar(name_node.value) if not name_node.style else name_node.value
            name = plain if isinstance(plain, int) and not isinstance(plain, bool) else name_node.value
            if name in result:
                first = self.marks[(*key, name)]
                raise self.fail(
                    name_node, f"the field twice (first in line {first})", "each field once", (*key, name)
                )
            self.marks[(*key, name)] = name_node.start_mark.line + 1
            result[name] = self.value(value_node, (*key, name))
        return result


def _is_core(tag: str) -> bool:
    """Whether the tag is one PyYAML gives to plain scalars by itself."""
    return tag.startswith("tag:yaml.org,2002:")


def scalar(text: str) -> Any:
    """The value of a plain scalar by the YAML 1.2 core rules: None, bool, int, float or the text.

    text: The scalar as written.
    Returns: Its value; decimal numbers only, whole numbers of at most 18 digits.

    >>> scalar("08"), scalar("6.0"), scalar("on"), scalar("true")
    (8, 6.0, 'on', True)
    """
    if text in _WORDS:
        return _WORDS[text]
    if _INT.fullmatch(text):
        return int(text)
    if _FLOAT.fullmatch(text):
        return float(text)
    return text
