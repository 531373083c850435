"""What every page is made with: the filled templates, and the policy of what a page may load."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING

from millcalc.report.page_drawings import clock
from millcalc.shown import shown
from millcalc.units_show import show_feed, show_length, show_speed

if TYPE_CHECKING:
    from jinja2 import Environment


TEMPLATES = "templates"
BOX_NAMES = {"stop": "STOP", "warning": "WARNING", "note": "NOTE"}


def policy(style: str, script: str) -> str:
    """Content security policy of a page with one style sheet and one script.

    style, script: Their texts, exactly as they stand between the tags.
    Returns: Everything is forbidden but these two, by their hashes, and pictures inside the page.
    """

    def source(text: str) -> str:
        return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode() + "'"

    parts = ["default-src 'none'", "img-src data:", f"style-src {source(style)}"]
    parts += [f"script-src {source(script)}" if script else "script-src 'none'"]
    return "; ".join([*parts, "base-uri 'none'", "form-action 'none'"])


@cache
def template_text(name: str) -> str:
    """Text of a file beside the templates.

    name: File name.
    Returns: Its text with plain line ends, so that its hash is the same everywhere.
    """
    text = resources.files("millcalc.report").joinpath(TEMPLATES, name).read_text(encoding="utf-8")
    return text.replace("\r\n", "\n")


def _shown_value(value: object) -> object:
    """What a template prints: control characters of a text as codes, markup still markup."""
    return type(value)(shown(value)) if isinstance(value, str) else value


@cache
def environment(units: str) -> Environment:
    """The templates' environment: everything escaped, missing names are errors.

    units: ``mm`` or ``in``.
    Returns: With the filters that show numbers.
    """
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    made = Environment(
        loader=FunctionLoader(template_text),
        autoescape=True,
        finalize=_shown_value,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    inch = units == "in"
    filters: dict[str, Callable[..., str]] = {
        "mm": lambda value, step=None: show_length(value, units, step),  # type: ignore[arg-type]
        "feed": lambda value: show_feed(value, units),  # type: ignore[arg-type]
        "rpm": show_speed,
        "clock": clock,
        "n2": lambda value: f"{value:.2f}",
        "n4": lambda value: f"{value:.4g}",
        "capital": capital,
        "prose": lambda text: text.replace("``", ""),
        "place": lambda p: ", ".join(
            f"{axis} {show_length(v, units, 0.005 if inch else 0.1)}"  # type: ignore[arg-type]
            for axis, v in (("X", p.x), ("Y", p.y), ("Z", p.z))
        ),
    }
    made.filters.update(filters)
    made.globals["words"] = BOX_NAMES
    return made


def capital(text: str) -> str:
    """A text as a sentence without its full stop.

    text: Any text.
    Returns: First letter large, no full stop at the end.
    """
    text = text.strip().rstrip(".")
    return text[:1].upper() + text[1:]


def base_name(name: str) -> str:
    """A program's name without its folders, which are nobody else's business.

    name: Name or path as the person gave it.
    Returns: The last part; ``program`` where there is none.

    >>> base_name("parts/plate.nc"), base_name("C:\\\\parts\\\\plate.nc"), base_name("")
    ('plate.nc', 'plate.nc', 'program')
    """
    return name.replace("\\", "/").rsplit("/", 1)[-1] or "program"
