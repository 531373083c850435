"""The compiled reader: bytes of plain blocks straight to motion rows.

It reads lines until one is odd (anything but G0-G3 and the simple modal words, or anything doubtful), leaves the
state untouched by that line and returns; the plain reader takes the odd line and calls it again.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.arc_geometry import arc_sweep_rad, radius_centre
from millcalc.gcode.motions import (
    FLAG_FEED_UNKNOWN,
    FLAG_MODE_UNKNOWN,
    FLAG_ROTARY,
    FLAG_UNITS_UNKNOWN,
)
from millcalc.gcode.state import (
    ARC_ABSOLUTE,
    COMMENTS,
    COMP,
    COOLANT,
    DEPTH,
    DISTANCE_KNOWN,
    DONE,
    EVENT_COMMENT,
    EVENT_COOLANT,
    EVENT_DISTANCE,
    EVENT_FEED,
    EVENT_FEED_MODE,
    EVENT_PATH,
    EVENT_PLANE,
    EVENT_SPEED,
    EVENT_SPINDLE,
    EVENT_UNITS,
    EVENTS,
    EVENTS_FULL,
    FEED,
    FEED_MODE,
    FRAME,
    FULL,
    G_ARC_DISTANCE,
    G_DISTANCE,
    G_FEED_MODE,
    G_MOTION,
    G_NOTHING,
    G_PATH,
    G_PLANE,
    G_UNITS,
    INCREMENTAL,
    M_COOLANT,
    MOTION,
    ODD,
    PC,
    PLACED,
    PLANE,
    PLANE_KNOWN,
    POS,
    R_ARC_END,
    R_BARE,
    R_COMMENT_CAP,
    R_COUNT,
    R_FOREIGN,
    R_GCLASS,
    R_GSEEN,
    R_LAST,
    R_LOWER,
    R_MAX_LINE,
    R_MCLASS,
    R_NUMBER_DIGITS,
    R_REALTIME,
    R_ROTARY,
    R_SEMICOLON,
    R_SOFT,
    R_TAB,
    ROWS,
    RPM,
    SEEN,
    SHIFT,
    SOFT_DIGITS,
    SOFT_FLAT_ARC,
    SOFT_FOREIGN,
    SOFT_LENGTH,
    SOFT_LOWER,
    SOFT_REALTIME,
    SOFT_ROTARY,
    SOFT_ROUNDING,
    SOFT_SEMICOLON,
    SOFT_TAB,
    SPEED_EVENTS,
    SPINDLE,
    TOOL,
    UNIT,
    UNIT_KNOWN,
    Columns,
    Rules,
    State,
)
from millcalc.kernels import kernel
from millcalc.tuning import (
    ARC_EQUAL_MM,
    ARC_HALF_ROUNDING_MM,
    ARC_ROUNDING_MM,
    ARC_ROUNDING_SHARE,
    ARC_TOLERANCE_IN,
    ARC_TOLERANCE_MM,
    MAX_LINE_BYTES,
)

_sweep = kernel(arc_sweep_rad)
_radius_centre = kernel(radius_centre)

TENS = np.array([10.0**power for power in range(23)])


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
def _number(data: NDArray[np.uint8], i: int, end: int) -> tuple[float, int, int]:
    """Read a number with blanks anywhere.  Returns value, next index, digits (0: not plain)."""
    negative = False
    while i < end and (data[i] == 32 or data[i] == 9):
        i += 1
    if i < end and (data[i] == 45 or data[i] == 43):
        negative = data[i] == 45
        i += 1
    mantissa = np.int64(0)
    digits = 0
    decimals = -1
    while i < end:
        c = np.int64(data[i])
        d = c - 48
        if d >= 0 and d <= 9:
            digits += 1
            if digits > 15:
                return 0.0, i, 0
            mantissa = mantissa * 10 + d
            if decimals >= 0:
                decimals += 1
        elif c == 46:
            if decimals >= 0:
                return 0.0, i, 0
            decimals = 0
        elif c != 32 and c != 9:
            break
        i += 1
    value = float(mantissa)
    if decimals > 0:
        value = value / TENS[decimals]
    if negative:
        value = -value
    return value, i, digits


@kernel
def _event(events: NDArray[np.float64], state: State, kind: int, line: int, value: float) -> None:
    """Append an event row before the next motion; updates `events` and the state in place."""
    k = int(state[EVENTS])
    events[k, 0] = kind
    events[k, 1] = state[ROWS]
    events[k, 2] = line
    events[k, 3] = value
    events[k, 4] = 0.0
    events[k, 5] = 0.0
    state[EVENTS] = k + 1


@kernel
def read_plain(
    data: NDArray[np.uint8],
    starts: NDArray[np.int64],
    rules: Rules,
    state: State,
    out: Columns,
    events: NDArray[np.float64],
) -> int:
    """Read plain lines from ``state[PC]`` on.

    data uint8 (n,) and starts int64 (lines + 1,) read only; rules int64 (RULES_SIZE,): counts updated in place;
    state float64 (STATE_SIZE,), out columns and events float64 (m, 6) updated in place.
    Returns DONE, ODD (the line ``state[PC]`` is for the plain reader), FULL or EVENTS_FULL (make room, call
    again).  At most 16 events a line are written.
    """
    word = np.zeros(26)
    note_start = np.zeros(4, np.int64)
    note_end = np.zeros(4, np.int64)
    register = np.zeros(9, np.int64)
    target = np.zeros(3)
    offset = np.zeros(3)
    soft = np.zeros(10, np.int64)
    capacity = len(out.kind)
    room = len(events) - 16
    rows = int(state[ROWS])
    li = int(state[PC])
    last = rules[R_LAST]
    axis_bits = (1 << 23) | (1 << 24) | (1 << 25)
    centre_bits = (1 << 8) | (1 << 9) | (1 << 10)
    while li < last:
        state[PC] = li
        state[ROWS] = rows
        if rows >= capacity:
            return FULL
        if state[EVENTS] > room:
            return EVENTS_FULL
        i = starts[li]
        end = starts[li + 1]
        while end > i and (data[end - 1] == 10 or data[end - 1] == 13):
            end -= 1
        li += 1
        while i < end and (data[i] == 32 or data[i] == 9):
            if data[i] == 9 and rules[R_TAB] == 0:
                return ODD
            i += 1
        if i == end:
            continue
        have = np.int64(0)
        notes = 0
        spindle = -9
        coolant = -1
        softly = False
        seen_bits = np.int64(0)
        register[:] = -1
        if end - starts[li - 1] > MAX_LINE_BYTES:
            return ODD
        if starts[li] - starts[li - 1] > rules[R_MAX_LINE]:
            soft[SOFT_LENGTH] = 1
            softly = True
        odd = False
        first = True
        # ---- words
        while i < end:
            c = np.int64(data[i])
            i += 1
            if c >= 97 and c <= 122:
                c -= 32
                if rules[R_LOWER] == 0:
                    soft[SOFT_LOWER] = 1
                    softly = True
            if c >= 65 and c <= 90:
                begin = i
                value, i, digits = _number(data, i, end)
                if digits == 0 or value > 1e12 or value < -1e12:
                    odd = True
                    break
                if rules[R_TAB] == 0:
                    for k in range(begin, i):
                        if data[k] == 9:
                            soft[SOFT_TAB] = 1
                            softly = True
                letter = c - 65
                if letter == 6:  # G
                    tenths = value * 10.0
                    code = int(tenths + 0.5)
                    if tenths < 0.0 or code > 999 or abs(tenths - code) > 1e-6:
                        odd = True
                        break
                    kind = rules[R_GCLASS + code]
                    if kind == 0 or register[kind] >= 0:
                        odd = True
                        break
                    register[kind] = code
                    if rules[R_GSEEN + code] >= 0:
                        seen_bits |= np.int64(1) << rules[R_GSEEN + code]
                elif letter == 12:  # M
                    code = int(value + 0.5)
                    if value < 0.0 or code > 99 or abs(value - code) > 1e-6:
                        odd = True
                        break
                    kind = rules[R_MCLASS + code]
                    if kind == 0:
                        odd = True
                        break
                    if kind == M_COOLANT:
                        if coolant >= 0:
                            odd = True
                            break
                        coolant = code
                    else:
                        if spindle != -9:
                            odd = True
                            break
                        spindle = code
                elif letter == 13:  # N
                    if not first:
                        odd = True
                        break
                    written = 0
                    plain = True
                    for k in range(begin, i):
                        if data[k] >= 48 and data[k] <= 57:
                            written += 1
                        elif data[k] != 32 and data[k] != 9:
                            plain = False
                    if not plain:
                        odd = True
                        break
                    if written > rules[R_NUMBER_DIGITS]:
                        soft[SOFT_DIGITS] = 1
                        softly = True
                elif (
                    letter == 5
                    or letter == 18
                    or letter == 17
                    or (letter >= 8 and letter <= 10)
                    or letter >= 23
                ):
                    if (have >> letter) & 1 or ((letter == 5 or letter == 18) and value < 0.0):
                        odd = True
                        break
                    have |= 1 << letter
                    word[letter] = value
                elif letter <= 2:  # A B C
                    if (have >> letter) & 1 or rules[R_ROTARY] == 0:
                        odd = True
                        break
                    have |= 1 << letter
                    soft[SOFT_ROTARY] = 1
                    softly = True
                else:
                    odd = True
                    break
                first = False
            elif c == 32:
                pass
            elif c == 9:
                if rules[R_TAB] == 0:
                    soft[SOFT_TAB] = 1
                    softly = True
            elif c == 40:  # (
                begin = i
                while i < end and data[i] != 41:
                    if data[i] == 40:
                        odd = True
                    elif data[i] >= 128 and rules[R_FOREIGN] == 0:
                        soft[SOFT_FOREIGN] = 1
                        softly = True
                    elif data[i] < 32 and data[i] != 9:
                        odd = True
                    elif rules[R_REALTIME] == 0 and (data[i] == 33 or data[i] == 63 or data[i] == 126):
                        soft[SOFT_REALTIME] = 1
                        softly = True
                    i += 1
                k = begin
                while k < i and (data[k] == 32 or data[k] == 9):
                    k += 1
                if i >= end or odd or notes >= 4 or (k < i and (data[k] | 32) == 109):
                    odd = True
                    break
                note_start[notes] = begin
                note_end[notes] = i
                notes += 1
                i += 1
                first = False
            elif c == 59:  # ;
                if notes >= 4:
                    odd = True
                    break
                for k in range(i, end):
                    if data[k] >= 128 and rules[R_FOREIGN] == 0:
                        soft[SOFT_FOREIGN] = 1
                        softly = True
                    elif data[k] < 32 and data[k] != 9:
                        odd = True
                    elif rules[R_REALTIME] == 0 and (data[k] == 33 or data[k] == 63 or data[k] == 126):
                        soft[SOFT_REALTIME] = 1
                        softly = True
                if odd:
                    break
                if rules[R_SEMICOLON] == 0:
                    soft[SOFT_SEMICOLON] = 1
                    softly = True
                note_start[notes] = i
                note_end[notes] = end
                notes += 1
                i = end
            else:
                odd = True
                break
        # ---- what the words ask for
        axes = have & axis_bits
        rotary = have & 7
        centres = have & centre_bits
        radius = (have >> 17) & 1
        unit = state[UNIT]
        if register[G_UNITS] >= 0:
            unit = 25.4 if register[G_UNITS] == 200 else 1.0
        feed_mode = state[FEED_MODE]
        if register[G_FEED_MODE] >= 0:
            feed_mode = register[G_FEED_MODE] / 10.0
        incremental = state[INCREMENTAL]
        if register[G_DISTANCE] >= 0:
            incremental = 1.0 if register[G_DISTANCE] == 910 else 0.0
        arc_absolute = state[ARC_ABSOLUTE]
        if register[G_ARC_DISTANCE] >= 0:
            arc_absolute = 1.0 if register[G_ARC_DISTANCE] == 901 else 0.0
        plane = int(state[PLANE])
        if register[G_PLANE] >= 0:
            plane = int(register[G_PLANE]) // 10
        feed = state[FEED]
        if (have >> 5) & 1:
            feed = word[5]
        elif register[G_FEED_MODE] >= 0 and feed_mode != state[FEED_MODE]:
            feed = np.nan
        motion = int(state[MOTION])
        if register[G_MOTION] >= 0:
            motion = int(register[G_MOTION])
        moves = axes != 0 or rotary != 0
        arc = motion == 20 or motion == 30
        if arc and (centres != 0 or radius == 1):
            moves = True
        if state[COMP] != 0.0 and (
            register[G_PLANE] >= 0 or register[G_UNITS] >= 0 or register[G_NOTHING] >= 0
        ):
            odd = True
        if moves:
            if motion < 0 or motion > 30 or state[PLACED] == 0.0:
                odd = True
            if not arc and (centres != 0 or radius == 1):
                odd = True
            if feed_mode == 93.0 and motion != 0 and (have >> 5) & 1 == 0:
                odd = True
        else:
            if centres != 0 or radius == 1:
                odd = True
            if register[G_MOTION] >= 0 and motion <= 30 and (rules[R_BARE] == 0 or arc):
                odd = True
        if odd:
            soft[:] = 0
            return ODD
        # ---- geometry
        sweep = 0.0
        length = 0.0
        c0 = np.nan
        c1 = np.nan
        c2 = np.nan
        if moves:
            for k in range(3):
                if (axes >> (23 + k)) & 1:
                    if incremental != 0.0:
                        target[k] = state[POS + k] + word[23 + k] * unit
                    else:
                        target[k] = word[23 + k] * unit + state[SHIFT + k]
                else:
                    target[k] = state[POS + k]
            if arc:
                if plane == 17:
                    a, b, t = 0, 1, 2
                elif plane == 18:
                    a, b, t = 2, 0, 1
                else:
                    a, b, t = 1, 2, 0
                sa = state[POS + a]
                sb = state[POS + b]
                ea = target[a]
                eb = target[b]
                turn = -1 if motion == 20 else 1
                named = (axes >> (23 + a)) & 1 or (axes >> (23 + b)) & 1
                if not named and (rules[R_ARC_END] != 0 or radius == 1):
                    return ODD
                if radius == 1:
                    size = word[17] * unit
                    if centres != 0 or (abs(ea - sa) < ARC_EQUAL_MM and abs(eb - sb) < ARC_EQUAL_MM):
                        return ODD
                    if not (abs(size) > 0.0):
                        return ODD
                    ca, cb, excess = _radius_centre(sa, sb, ea, eb, size, turn)
                    if not (excess <= 0.0):
                        return ODD
                    chord = math.sqrt((ea - sa) ** 2 + (eb - sb) ** 2)
                    height = math.sqrt(max(size * size - 0.25 * chord * chord, 0.0))
                    if excess < -1e-6 and (
                        height < 0.5 * chord * ARC_HALF_ROUNDING_MM / 0.01
                        or (size < 0.0 and chord < 0.2610523844 * -size)
                    ):
                        soft[SOFT_FLAT_ARC] = 1
                        softly = True
                    sweep = _sweep(sa, sb, ea, eb, ca, cb, turn)
                    r = abs(size)
                else:
                    if (centres >> (8 + t)) & 1 or centres == 0:
                        return ODD
                    if arc_absolute != 0.0:
                        if (centres >> (8 + a)) & 1 == 0 or (centres >> (8 + b)) & 1 == 0:
                            return ODD
                        ca = word[8 + a] * unit + state[SHIFT + a]
                        cb = word[8 + b] * unit + state[SHIFT + b]
                    else:
                        offset[:] = 0.0
                        for k in range(3):
                            if (centres >> (8 + k)) & 1:
                                offset[k] = word[8 + k] * unit
                        ca = sa + offset[a]
                        cb = sb + offset[b]
                    r = math.sqrt((sa - ca) ** 2 + (sb - cb) ** 2)
                    r2 = math.sqrt((ea - ca) ** 2 + (eb - cb) ** 2)
                    gap = abs(r2 - r)
                    if not (r > 0.0 and r2 > 0.0):
                        return ODD
                    if gap > (ARC_TOLERANCE_MM if unit == 1.0 else ARC_TOLERANCE_IN * 25.4) + 1e-9:
                        if not (gap <= max(ARC_ROUNDING_MM, ARC_ROUNDING_SHARE * r)):
                            return ODD
                        soft[SOFT_ROUNDING] = 1
                        softly = True
                    sweep = _sweep(sa, sb, ea, eb, ca, cb, turn)
                if not (abs(sweep) >= 0.0):
                    return ODD
                climb = target[t] - state[POS + t]
                length = math.sqrt((r * sweep) ** 2 + climb * climb)
                if a == 0:
                    c0 = ca
                    c1 = cb
                    c2 = state[POS + 2]
                elif a == 2:
                    c2 = ca
                    c0 = cb
                    c1 = state[POS + 1]
                else:
                    c1 = ca
                    c2 = cb
                    c0 = state[POS]
            else:
                length = math.sqrt(
                    (target[0] - state[POS]) ** 2
                    + (target[1] - state[POS + 1]) ** 2
                    + (target[2] - state[POS + 2]) ** 2
                )
        # ---- violations that are only counted
        if softly:
            for k in range(10):
                if soft[k] != 0 and rules[R_SOFT + k] == 0:
                    odd = True
            if odd:
                soft[:] = 0
                return ODD
            for k in range(10):
                rules[R_COUNT + k] += soft[k]
                soft[k] = 0
        # ---- from here on the line is accepted: change the state
        for k in range(notes):
            if state[COMMENTS] < rules[R_COMMENT_CAP]:
                state[COMMENTS] += 1.0
                _event(events, state, EVENT_COMMENT, li, np.nan)
                events[int(state[EVENTS]) - 1, 4] = note_start[k]
                events[int(state[EVENTS]) - 1, 5] = note_end[k]
        if seen_bits != 0:
            state[SEEN] = float(np.int64(state[SEEN]) | seen_bits)
        if register[G_FEED_MODE] >= 0 and feed_mode != state[FEED_MODE]:
            state[FEED_MODE] = feed_mode
            _event(events, state, EVENT_FEED_MODE, li, feed_mode)
        if not moves:
            if (have >> 5) & 1 and feed != state[FEED] and state[SPEED_EVENTS] < rules[R_COMMENT_CAP]:
                state[SPEED_EVENTS] += 1.0
                _event(events, state, EVENT_FEED, li, feed * state[UNIT])
            if (have >> 18) & 1 and word[18] != state[RPM] and state[SPEED_EVENTS] < rules[R_COMMENT_CAP]:
                state[SPEED_EVENTS] += 1.0
                _event(events, state, EVENT_SPEED, li, word[18])
        state[FEED] = feed
        if (have >> 18) & 1:
            state[RPM] = word[18]
        if spindle != -9:
            state[SPINDLE] = 1.0 if spindle == 3 else (-1.0 if spindle == 4 else 0.0)
            _event(events, state, EVENT_SPINDLE, li, 0.0 if spindle == 5 else state[SPINDLE] * state[RPM])
        if coolant >= 0:
            bits = 0 if coolant == 9 else int(state[COOLANT]) | (1 if coolant == 7 else 2)
            state[COOLANT] = bits
            _event(events, state, EVENT_COOLANT, li, float(bits))
        if register[G_PLANE] >= 0:
            if plane != state[PLANE] or state[PLANE_KNOWN] == 0.0:
                _event(events, state, EVENT_PLANE, li, float(plane))
            state[PLANE_KNOWN] = 1.0
            state[PLANE] = plane
        if register[G_UNITS] >= 0:
            if unit != state[UNIT] or state[UNIT_KNOWN] == 0.0:
                _event(events, state, EVENT_UNITS, li, register[G_UNITS] / 10.0)
            state[UNIT] = unit
            state[UNIT_KNOWN] = 1.0
        if register[G_PATH] >= 0:
            _event(events, state, EVENT_PATH, li, register[G_PATH] / 10.0)
        if register[G_DISTANCE] >= 0:
            if incremental != state[INCREMENTAL] or state[DISTANCE_KNOWN] == 0.0:
                _event(events, state, EVENT_DISTANCE, li, register[G_DISTANCE] / 10.0)
            state[INCREMENTAL] = incremental
            state[DISTANCE_KNOWN] = 1.0
        state[ARC_ABSOLUTE] = arc_absolute
        state[MOTION] = motion
        if not moves:
            continue
        flags = int(state[COMP])
        if rotary != 0:
            flags |= FLAG_ROTARY
        if state[UNIT_KNOWN] == 0.0:
            flags |= FLAG_UNITS_UNKNOWN
        if state[DISTANCE_KNOWN] == 0.0:
            flags |= FLAG_MODE_UNKNOWN
        rate = np.nan
        if motion != 0:
            if feed_mode == 94.0:
                rate = feed * unit
            elif feed_mode == 93.0:
                rate = feed * length
            else:
                rate = feed * unit * state[RPM]
            if np.isnan(feed):
                flags |= FLAG_FEED_UNKNOWN
        out.kind[rows] = motion // 10
        for k in range(3):
            out.start_mm[rows, k] = state[POS + k]
            out.end_mm[rows, k] = target[k]
            state[POS + k] = target[k]
        out.centre_mm[rows, 0] = c0
        out.centre_mm[rows, 1] = c1
        out.centre_mm[rows, 2] = c2
        out.sweep_rad[rows] = sweep
        out.plane[rows] = plane
        out.length_mm[rows] = length
        out.feed_mm_min[rows] = rate
        out.feed_mode[rows] = int(feed_mode)
        out.spindle_rpm[rows] = state[RPM]
        out.spindle_dir[rows] = int(state[SPINDLE])
        out.tool[rows] = int(state[TOOL])
        out.coolant[rows] = int(state[COOLANT])
        out.line[rows] = li
        out.call_depth[rows] = int(state[DEPTH])
        out.dwell_s[rows] = 0.0
        out.frame[rows] = int(state[FRAME])
        out.flags[rows] = flags
        rows += 1
    state[PC] = li
    state[ROWS] = rows
    return DONE
