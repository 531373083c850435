"""Kernels over the bytes of a program: where lines begin, what a number is, how often words occur."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import inner_kernel, kernel

TENS = np.array([10.0**power for power in range(23)])
ONE = np.uint64(1)
COMMENT_FOREIGN, COMMENT_REALTIME, COMMENT_ODD = 1, 2, 4


@kernel
def line_starts(data: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Offsets at which lines begin, and the length as last entry; LF, CR and CR LF end a line.

    data: uint8 (n,), read only.  Returns int64 (lines + 1,).
    """
    n = len(data)
    feeds = 0
    returns = 0
    for k in range(n):
        feeds += data[k] == 10
    for k in range(n):
        returns += data[k] == 13
    starts = np.empty(feeds + returns + 2, np.int64)
    starts[0] = 0
    count = 1
    if returns == 0:
        for k in range(n):
            if data[k] == 10:
                starts[count] = k + 1
                count += 1
    else:
        k = 0
        while k < n:
            c = data[k]
            k += 1
            if c == 13:
                if k < n and data[k] == 10:
                    k += 1
                starts[count] = k
                count += 1
            elif c == 10:
                starts[count] = k
                count += 1
    if starts[count - 1] != n:
        starts[count] = n
        count += 1
    return starts[:count].copy() if count * 2 < len(starts) else starts[:count]


@kernel
def read_number(data: NDArray[np.uint8], i: np.uint64, end: np.uint64) -> tuple[float, np.uint64, int]:
    """Read a number; blanks may stand anywhere in it.  Returns value, next index, digits (0: not plain).

    Indices are unsigned, so that no check for negative ones is compiled in.
    """
    while i < end and (data[i] == 32 or data[i] == 9):
        i += ONE
    negative = False
    if i < end and (data[i] == 45 or data[i] == 43):
        negative = data[i] == 45
        i += ONE
    mantissa = np.int64(0)
    digits = 0
    decimals = 0
    point = False
    while True:
        begin = i
        while i < end:
            d = np.int64(data[i]) - 48
            if d < 0 or d > 9:
                break
            mantissa = mantissa * 10 + d
            i += ONE
        run = int(i - begin)
        digits += run
        if point:
            decimals += run
        if digits > 15:
            return 0.0, i, 0
        if i >= end:
            break
        c = data[i]
        if c == 46:
            if point:
                return 0.0, i, 0
            point = True
            i += ONE
        elif c == 32 or c == 9:
            i += ONE
        else:
            break
    value = float(mantissa)
    if decimals > 0:
        value = value / TENS[decimals]
    if value > 1e12:
        return 0.0, i, 0
    if negative:
        value = -value
    return value, i, digits


@inner_kernel
def skip_comment(
    data: NDArray[np.uint8], i: np.uint64, end: np.uint64, bracket: bool
) -> tuple[np.uint64, int]:
    """Step over a comment from behind its first character.

    Returns the index of its ``)``, or `end` for a comment to the line's end, and COMMENT_* bits; COMMENT_ODD alone
    when it is not closed, holds a ``(`` or a control byte, or may be a message.
    """
    begin = i
    bits = 0
    while i < end and not (bracket and data[i] == 41):
        c = data[i]
        if c >= 128:
            bits |= COMMENT_FOREIGN
        elif (c == 40 and bracket) or (c < 32 and c != 9):
            return i, COMMENT_ODD
        elif c == 33 or c == 63 or c == 126:
            bits |= COMMENT_REALTIME
        i += ONE
    if bracket:
        while begin < i and (data[begin] == 32 or data[begin] == 9):
            begin += ONE
        if i >= end or (begin < i and (data[begin] | 32) == 109):
            return i, COMMENT_ODD
    return i, bits


@kernel
def count_words(data: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Count written words outside comments and brackets.

    data uint8 (n,), read only.  Returns int64 (2026,): G codes times ten at 0, M codes at 1000, letters at 2000.
    """
    counts = np.zeros(2026, np.int64)
    n = np.uint64(len(data))
    i = np.uint64(0)
    while i < n:
        c = np.int64(data[i])
        i += ONE
        if c == 40 or c == 59:
            close = 41 if c == 40 else 10
            while i < n and data[i] != close and data[i] != 10 and data[i] != 13:
                i += ONE
        elif c == 91:
            level = 1
            while i < n and level > 0 and data[i] != 10 and data[i] != 13:
                level += (data[i] == 91) - (data[i] == 93)
                i += ONE
        else:
            letter = (c | 32) - 97
            if c >= 65 and letter >= 0 and letter < 26:
                value, after, digits = read_number(data, i, n)
                if digits > 0:
                    i = after
                    if letter == 6:
                        if value >= 0.0 and value < 99.95:
                            counts[int(value * 10.0 + 0.5)] += 1
                    elif letter == 12:
                        if value >= 0.0 and value < 999.5:
                            counts[1000 + int(value + 0.5)] += 1
                    else:
                        counts[2000 + letter] += 1
                else:  # a number too long for _number still belongs to its letter
                    k = i
                    while k < n and (
                        data[k] == 32 or data[k] == 9 or data[k] == 43 or data[k] == 45 or data[k] == 46
                    ):
                        k += ONE
                    if k < n and data[k] >= 48 and data[k] <= 57 and letter != 6 and letter != 12:
                        counts[2000 + letter] += 1
                        i = k
    return counts
