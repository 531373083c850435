"""Dialect profiles: what a class of controllers accepts, as data in ``profiles/*.yaml``."""

from __future__ import annotations

import difflib
from functools import lru_cache
from importlib import resources
from typing import Literal

import yaml
from pydantic import BaseModel, ConfigDict, Field

from millcalc.errors import UsageError
from millcalc.gcode.words import WORD_LETTERS, TextRules

FOLDER = resources.files("millcalc.gcode") / "profiles"


class Profile(BaseModel):
    """What a class of controllers accepts.

    name, title, notes: Short name, a line of description, where the facts come from.
    refuse_g, refuse_m: Codes that are known but not accepted.
    only_g, only_m: When given, the only codes accepted.
    letters: Word letters accepted besides G, M and N.
    refuse: Parts of the language that are missing.
    max_line: Longest line with its end; 0 for no limit [byte].
    number_digits: Most digits of a line number [-].
    decimals: Most decimals of a number; 0 for no limit [-].
    m_words: Most M words in a line [-].
    dwell: Letters that give a dwell time, with seconds for one unit [s].
    bare_motion: A motion word without axis words sets the mode instead of being an error.
    arc_end_required: An arc must name an end coordinate in its plane.
    end_required: The program must end with M2, M30 or a percent line.
    home_axes: Whether G28 and G30 send ``all`` axes home or only the ``named`` ones.
    tool_word_changes: A T word changes the tool without M6.
    last_parameter: Largest parameter number [-].
    separate_groups: G80, G28 and G30 may stand beside G0 in a line.
    idle_centre_words: A centre word outside the plane of an arc does no harm when it is zero.
    half_arcs_by_radius: False reports every arc by radius between 165 and 195 degrees or above 345.
    """

    model_config = ConfigDict(frozen=True, defer_build=True, extra="forbid")

    name: str
    title: str
    notes: str
    refuse_g: tuple[float, ...] = ()
    refuse_m: tuple[int, ...] = ()
    only_g: tuple[float, ...] | None = None
    only_m: tuple[int, ...] | None = None
    letters: str = WORD_LETTERS
    refuse: tuple[
        Literal[
            "expressions",
            "parameters",
            "named parameters",
            "comparisons",
            "signed values",
            "o words",
            "program numbers",
            "percent",
            "block delete",
            "rotary",
            "length table",
            "arc radius",
        ],
        ...,
    ] = ()
    max_line: int = Field(default=0, ge=0)
    number_digits: int = Field(default=9, ge=1)
    decimals: int = Field(default=0, ge=0)
    m_words: int = Field(default=4, ge=1)
    lower_case: bool = True
    tabs: bool = True
    semicolon_comments: bool = True
    foreign_in_comments: bool = True
    realtime_in_comments: bool = True
    delete_anywhere: bool = False
    dwell: dict[str, float] = Field(default_factory=lambda: {"P": 1.0})
    bare_motion: bool = True
    arc_end_required: bool = False
    end_required: bool = False
    home_axes: Literal["all", "named"] = "all"
    tool_word_changes: bool = False
    last_parameter: int = Field(default=5999, ge=1, le=5999)
    half_arcs_by_radius: bool = True
    separate_groups: bool = True
    idle_centre_words: bool = True

    def accepts_g(self, code: int) -> bool:
        """Whether a G code, times ten, is accepted by this class."""
        value = code / 10.0
        return value not in self.refuse_g and (self.only_g is None or value in self.only_g)

    def accepts_m(self, code: int) -> bool:
        """Whether an M code is accepted by this class."""
        return code not in self.refuse_m and (self.only_m is None or code in self.only_m)

    def text_rules(self) -> TextRules:
        """The part of the profile that the line reader needs."""
        return TextRules(
            refuse=frozenset(self.refuse),
            letters=self.letters,
            max_line=self.max_line,
            number_digits=self.number_digits,
            lower_case=self.lower_case,
            tabs=self.tabs,
            semicolon=self.semicolon_comments,
            foreign_in_comments=self.foreign_in_comments,
            realtime_in_comments=self.realtime_in_comments,
            delete_anywhere=self.delete_anywhere,
            decimals=self.decimals,
            last_parameter=self.last_parameter,
        )


def profile_names() -> tuple[str, ...]:
    """Names of the shipped profiles, sorted."""
    return tuple(sorted(item.name[:-5] for item in FOLDER.iterdir() if item.name.endswith(".yaml")))


@lru_cache
def load_profile(name: str) -> Profile:
    """Load a profile by name.

    name: One of :func:`profile_names`.
    Returns: The profile.
    Raises UsageError: When there is no profile of that name; names the closest ones.

    >>> load_profile("rs274-ngc").max_line
    256
    """
    names = profile_names()
    if name not in names:
        near = difflib.get_close_matches(name, names, 3) or names
        raise UsageError(f"found controller profile {name!r}; accepted: {', '.join(near)}")
    text = (FOLDER / f"{name}.yaml").read_text(encoding="utf-8")
    return Profile.model_validate(yaml.safe_load(text))
