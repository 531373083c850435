"""Plain twins of the small kernels of the reader; the large one has the plain reader as its twin (tests/gcode)."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.gcode import text_kernels

text = st.lists(
    st.sampled_from([b"\n", b"\r", b"\r\n", b"G1", b" X", b"1.5", b"(", b")", b";", b"[", b"]"]), max_size=60
)


def slow_line_starts(data: bytes) -> list[int]:
    starts, at = [0], 0
    while at < len(data):
        if data[at] == 13 and data[at + 1 : at + 2] == b"\n":
            at += 1
            starts.append(at + 1)
        elif data[at] in (10, 13):
            starts.append(at + 1)
        at += 1
    if starts[-1] != len(data):
        starts.append(len(data))
    return starts


@settings(max_examples=200, deadline=None, database=None)
@given(text)
def test_line_starts(pieces: list[bytes]) -> None:
    data = b"".join(pieces)
    assert text_kernels.line_starts(np.frombuffer(data, np.uint8)).tolist() == slow_line_starts(data)


@settings(max_examples=300, deadline=None, database=None)
@given(
    st.from_regex(r"[+-]?([0-9]{1,9}(\.[0-9]{0,5})?|\.[0-9]{1,5})", fullmatch=True),
    st.sampled_from(["", "X", " Y"]),
)
def test_numbers_are_rounded_like_python_reads_them(written: str, after: str) -> None:
    data = np.frombuffer((written + after).encode(), np.uint8)
    value, index, digits = text_kernels.read_number(data, np.uint64(0), np.uint64(len(data)))
    assert value == float(written)
    assert digits == sum(character.isdigit() for character in written)
    assert int(index) == len(written) + (len(after) - len(after.lstrip()))
