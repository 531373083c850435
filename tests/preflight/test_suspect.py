"""Signs that a program was written in the other unit: two of them, each up to its own edge."""

from __future__ import annotations

import pytest

from millcalc.preflight.rules.suspect import Size, _reads_wrong

# x, y, travel, depth [mm], feed [mm/min]: metric sizes with no sign but the feed, and inch ones with none
METRIC, INCH = (60.0, 60.0, 5.0, 2.0, 120.0), (90.0, 90.0, 20.0, 6.0, 900.0)


def size(usual: tuple[float, ...], **changed: float) -> Size:
    names = ("x", "y", "travel", "depth", "feed")
    return Size(**dict(zip(names, usual, strict=True)) | changed)


@pytest.mark.parametrize(
    ("changed", "wrong"),
    [
        ({"x": 25, "y": 25}, False), ({"travel": 1}, False), ({"depth": 0.5}, False),
        ({"x": 25, "y": 25, "travel": 1}, True), ({"travel": 1, "depth": 0.5}, True),
        ({"x": 25, "y": 25.1, "travel": 1}, False), ({"travel": 1.01, "depth": 0.5}, False),
        ({"travel": 1, "depth": 0.51}, False), ({"travel": 1, "depth": 0.5, "feed": 121}, False),
        ({"x": 25, "y": 25, "travel": 1, "depth": 0.5}, True),
    ],
)  # fmt: skip
def test_millimetres_that_read_like_inches(changed, wrong) -> None:
    assert _reads_wrong(size(METRIC, **changed), inch=False) is wrong


@pytest.mark.parametrize(
    ("changed", "wrong"),
    [
        ({"y": 1001}, False), ({"y": 1001, "travel": 51}, True), ({"travel": 51, "depth": 21}, True),
        ({"depth": 21, "feed": 9001}, True), ({"y": 1000, "travel": 51}, False), ({"travel": 50, "depth": 21}, False),
        ({"travel": 51, "depth": 20}, False), ({"depth": 21, "feed": 9000}, False),
    ],
)  # fmt: skip
def test_inches_that_read_like_millimetres(changed, wrong) -> None:
    assert _reads_wrong(size(INCH, **changed), inch=True) is wrong
