"""What else holds the work, as a person says it in one line: ``tape, 60 cm2``."""

from __future__ import annotations

import re
from typing import Any, Final, get_args

from millcalc import units
from millcalc.job.fields import UNKNOWN_WORDS, written_name
from millcalc.job.hold_fields import FIELDS, impossible
from millcalc.job.models import Hold, HoldKind

HOLD_TEXT: Final = "What else holds the work, one a line: kind, then its numbers"
HOLD_NOTE: Final = (
    "such as tape, 60 cm2; or vacuum, 100 cm2, 70 kPa; vice, 1500 N; side clamps, 400 N; waste screws, 4, 4 mm, "
    "10 mm deep; tabs, 4, 6 mm, 1 mm thick; onion skin, 300 mm, 0.3 mm; none; empty ends"
)
_KINDS: Final = tuple(kind for kind in get_args(HoldKind) if kind != "unknown")


def read_hold(text: str, unit: str) -> Hold:
    """Read one hold.

    text: Its kind, and its numbers in the order of the guide; a question mark, or nothing, for an unknown one.
    unit: Unit of bare lengths and areas, ``mm`` or ``in``.
    Returns: The hold.
    Raises ValueError: If it cannot be read; the text says what to write.

    >>> read_hold("vacuum, 100 cm2, 70 kPa", "mm").pressure_n_mm2
    0.07
    """
    kind, *parts = (part.strip() for part in re.split(r"[;,]", text))
    plain = " ".join(kind.lower().split())
    near = [word for word in _KINDS if plain and word.startswith(plain)]
    if len(near) != 1:
        raise ValueError(f"found {kind!r}; write one of {', '.join(_KINDS)}")
    fields = FIELDS[near[0]]
    if len(parts) > len(fields):
        raise ValueError(f"found {text!r}; write {near[0]}, {', '.join(map(written_name, fields))}")
    told = {name: _number(name, part, unit) for name, part in zip(fields, parts, strict=False)}
    return Hold.model_validate({"kind": near[0], **told})


def _number(name: str, text: str, unit: str) -> Any:
    """One number of a hold; None for an unknown one."""
    if text.lower() in ("", *UNKNOWN_WORDS):
        return None
    text = re.sub(r" *(deep|thick|long)$", "", text.lower())
    what = written_name(name)
    if name in ("count", "friction"):
        if not re.fullmatch(r"\d{1,3}" if name == "count" else r"\d?\.?\d{1,3}", text):
            raise ValueError(
                f"found {text!r}; write a {'whole number' if name == 'count' else 'number such as 0.2'}"
            )
        value: float = int(text) if name == "count" else float(text)
    elif name.endswith("_n_mm2"):
        value = units.stress_n_mm2(text, what=what)
    elif name.endswith("_mm2"):
        value = units.area_mm2(text, f"{unit}2", what=what)
    elif name.endswith("_n"):
        value = units.force_n(text, what=what)
    else:
        value = units.length_mm(text, unit, what=what)
    if value <= 0:
        raise ValueError(f"{what}: found 0; write a value above zero")
    if name == "friction" and value > 1.5:
        raise ValueError(f"friction: found {text}; write at most 1.5, such as 0.2")
    doubt = impossible(name, value)
    if doubt is not None:
        found, accepted, action = doubt
        raise ValueError(f"found {found}; write {accepted}: {action}")
    return value
