"""The sourced values every table is made of: a number with its spread, a band, a statement, axis numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal

from pydantic import BaseModel, ConfigDict, Field

# what a mark says to the reader, where the mark alone would not
TRUST_WORDS: Final = {
    "from memory": "from memory: a handbook value, not looked up again",
    "estimate": "estimate: ours, no published number was found",
}
Confidence = Literal[
    "published", "measured", "derived", "common practice", "from memory", "estimate", "given by you"
]


class Row(BaseModel):
    """Base of every table model: frozen, unknown fields refused, NaN and infinity refused.

    A number where text belongs (``aliases: [6061]``) is taken as that text.
    """

    model_config = ConfigDict(
        frozen=True,
        defer_build=True,
        extra="forbid",
        allow_inf_nan=False,
        coerce_numbers_to_str=True,
        hide_input_in_errors=True,
    )


def each_model(base: type[Row]) -> Iterator[type[Row]]:
    """Go through the table models.

    base: Row, or a model whose sub-models are wanted.
    Yields: Every model derived from it.
    """
    for model in base.__subclasses__():
        yield model
        yield from each_model(model)


class Source(Row):
    """One entry of ``sources.yaml``."""

    title: str
    kind: Literal["published", "measured", "common practice", "from memory", "estimate", "given by you"]
    reference: str
    note: str = ""


class Caution(Row):
    """One entry of ``cautions.yaml``: what to mind, shown where the person decides."""

    title: str
    text: str
    source: str


class Value(Row):
    """A number with its published spread, its source and how far it can be trusted.

    value: Nominal value, in the unit of the field that holds it.
    low, high: Ends of the published spread, same unit.
    source: Key of ``sources.yaml``.
    confidence: How far to trust it.
    note: Remark for the person.
    """

    value: float
    low: float | None = None
    high: float | None = None
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def lowest(self) -> float:
        """Low end of the spread, or the value itself (unit of the field)."""
        return self.value if self.low is None else self.low

    @property
    def highest(self) -> float:
        """High end of the spread, or the value itself (unit of the field)."""
        return self.value if self.high is None else self.high


class Band(Row):
    """A usable range with its source.

    low, high: Ends of the range, in the unit of the field that holds it.
    start: Where a light machine starts, same unit; None for the middle.
    """

    low: float
    high: float
    start: float | None = None
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def begin(self) -> float:
        """Where a light machine starts: as stated, or the middle (unit of the field)."""
        return (self.low + self.high) / 2 if self.start is None else self.start


class Statement(Row):
    """A fact in words with its source."""

    text: str
    source: str
    confidence: Confidence


class Axes(Row):
    """One number for each of the linear axes, in the unit of the field that holds it."""

    x: float = Field(gt=0)
    y: float = Field(gt=0)
    z: float = Field(gt=0)


class AxisValues(Axes):
    """Axis numbers with their source."""

    source: str
    confidence: Confidence
    note: str = ""
