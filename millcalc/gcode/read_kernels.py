"""The compiled reader: bytes of plain blocks straight to motion rows.

It reads lines until one is odd (anything but G0-G3 and the simple modal words, or anything doubtful), leaves the
state untouched by that line and returns; the plain reader takes the odd line and calls it again.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.arc_geometry import LONG_ARC_CHORD, arc_sweep_rad, is_near_half, radius_centre
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
    R_HALF_ARCS,
    R_IDLE_CENTRE,
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
    WORDS,
    Columns,
    Rules,
    State,
)
from millcalc.gcode.text_kernels import ONE, TENS, read_number
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
near_half = kernel(is_near_half)

NAN = float("nan")


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
    again).  At most 16 events a line are written.  Columns that are zero in most programs are written only where
    they are not: they come zeroed.
    """
    word = np.zeros(26)
    note_start = np.zeros(4, np.int64)
    note_end = np.zeros(4, np.int64)
    register = np.full(9, -1, np.int64)
    soft = np.zeros(10, np.int64)
    capacity = len(out.kind)
    room = len(events) - 16
    rows = int(state[ROWS])
    li = int(state[PC])
    last = int(rules[R_LAST])
    lower_ok, tab_ok, foreign_ok = rules[R_LOWER] != 0, rules[R_TAB] != 0, rules[R_FOREIGN] != 0
    realtime_ok, longest, bare_ok = rules[R_REALTIME] != 0, rules[R_MAX_LINE], rules[R_BARE] != 0
    axis_bits = np.int64((1 << 23) | (1 << 24) | (1 << 25))
    centre_bits = np.int64((1 << 8) | (1 << 9) | (1 << 10))
    px, py, pz = state[POS], state[POS + 1], state[POS + 2]
    shift_x, shift_y, shift_z = state[SHIFT], state[SHIFT + 1], state[SHIFT + 2]
    unit, feed, feed_mode, rpm = state[UNIT], state[FEED], state[FEED_MODE], state[RPM]
    motion, plane = int(state[MOTION]), int(state[PLANE])
    incremental, arc_absolute = state[INCREMENTAL] != 0.0, state[ARC_ABSOLUTE] != 0.0
    comp, placed = int(state[COMP]), state[PLACED] != 0.0
    tool, depth, frame = int(state[TOOL]), int(state[DEPTH]), int(state[FRAME])
    turning, wet = int(state[SPINDLE]), int(state[COOLANT])
    state_flags = comp
    if state[UNIT_KNOWN] == 0.0:
        state_flags |= FLAG_UNITS_UNKNOWN
    if state[DISTANCE_KNOWN] == 0.0:
        state_flags |= FLAG_MODE_UNKNOWN
    registered = False
    status = DONE
    while li < last:
        if rows >= capacity:
            status = FULL
            break
        if state[EVENTS] > room:
            status = EVENTS_FULL
            break
        i = np.uint64(starts[li])
        end = np.uint64(starts[li + 1])
        size = int(end - i)
        while end > i and (data[end - ONE] == 10 or data[end - ONE] == 13):
            end -= ONE
        odd = False
        softly = False
        if size > longest:
            if size > MAX_LINE_BYTES:
                status = ODD
                break
            soft[SOFT_LENGTH] = 1
            softly = True
        have = np.int64(0)
        notes = 0
        spindle = -9
        coolant = -1
        seen_bits = np.int64(0)
        if registered:
            register[:] = -1
            registered = False
        first = True
        # ---- words
        while i < end:
            c = np.int64(data[i])
            i += ONE
            letter = (c | 32) - 97
            if c >= 65 and letter >= 0 and letter < 26:
                if c >= 97 and not lower_ok:
                    soft[SOFT_LOWER] = 1
                    softly = True
                begin = i
                # the usual form of a number is read here, any other by read_number
                negative = i < end and data[i] == 45
                if negative:
                    i += ONE
                mantissa = np.int64(0)
                mark = i
                while i < end:
                    d = np.int64(data[i]) - 48
                    if d < 0 or d > 9:
                        break
                    mantissa = mantissa * 10 + d
                    i += ONE
                digits = int(i - mark)
                value = float(mantissa)
                if i < end and data[i] == 46:
                    i += ONE
                    mark = i
                    while i < end:
                        d = np.int64(data[i]) - 48
                        if d < 0 or d > 9:
                            break
                        mantissa = mantissa * 10 + d
                        i += ONE
                    decimals = int(i - mark)
                    digits += decimals
                    if decimals < 16:
                        value = float(mantissa) / TENS[decimals]
                if negative:
                    value = -value
                while i < end and data[i] == 32:
                    i += ONE
                if digits == 0 or digits > 12 or (i < end and data[i] < 59 and data[i] != 40):
                    value, i, digits = read_number(data, begin, end)
                    if digits == 0:
                        odd = True
                        break
                if not tab_ok:
                    while begin < i:
                        if data[begin] == 9:
                            soft[SOFT_TAB] = 1
                            softly = True
                        begin += ONE
                if (
                    letter >= 23
                    or letter == 5
                    or letter == 18
                    or letter == 17
                    or (letter >= 8 and letter <= 10)
                ):
                    if (have >> letter) & 1 or ((letter == 5 or letter == 18) and value < 0.0):
                        odd = True
                        break
                    have |= np.int64(1) << letter
                    word[letter] = value
                elif letter == 6:  # G
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
                    registered = True
                    if rules[R_GSEEN + code] >= 0:
                        seen_bits |= np.int64(1) << rules[R_GSEEN + code]
                elif letter == 12:  # M
                    code = int(value + 0.5)
                    if value < 0.0 or code > 99 or abs(value - code) > 1e-6:
                        odd = True
                        break
                    kind = rules[R_MCLASS + code]
                    if (
                        kind == 0
                        or (kind == M_COOLANT and coolant >= 0)
                        or (kind != M_COOLANT and spindle != -9)
                    ):
                        odd = True
                        break
                    if kind == M_COOLANT:
                        coolant = code
                    else:
                        spindle = code
                elif letter == 13:  # N
                    if not first:
                        odd = True
                        break
                    while begin < i:
                        if data[begin] != 32 and data[begin] != 9 and (data[begin] < 48 or data[begin] > 57):
                            odd = True
                        begin += ONE
                    if odd:
                        break
                    if digits > rules[R_NUMBER_DIGITS]:
                        soft[SOFT_DIGITS] = 1
                        softly = True
                elif letter <= 2:  # A B C
                    if (have >> letter) & 1 or rules[R_ROTARY] == 0:
                        odd = True
                        break
                    have |= np.int64(1) << letter
                    soft[SOFT_ROTARY] = 1
                    softly = True
                else:
                    odd = True
                    break
                first = False
            elif c == 32:
                pass
            elif c == 9:
                if not tab_ok:
                    soft[SOFT_TAB] = 1
                    softly = True
            elif c == 40 or c == 59:  # ( ;
                begin = i
                close = np.uint8(41) if c == 40 else np.uint8(10)
                while i < end and data[i] != close:
                    if data[i] >= 128:
                        if not foreign_ok:
                            soft[SOFT_FOREIGN] = 1
                            softly = True
                    elif (data[i] == 40 and c == 40) or (data[i] < 32 and data[i] != 9):
                        odd = True
                    elif not realtime_ok and (data[i] == 33 or data[i] == 63 or data[i] == 126):
                        soft[SOFT_REALTIME] = 1
                        softly = True
                    i += ONE
                if odd or notes >= 4:
                    odd = True
                    break
                note_start[notes] = np.int64(begin)
                note_end[notes] = np.int64(i)
                notes += 1
                if c == 59:
                    if rules[R_SEMICOLON] == 0:
                        soft[SOFT_SEMICOLON] = 1
                        softly = True
                else:
                    while begin < i and (data[begin] == 32 or data[begin] == 9):
                        begin += ONE
                    if i >= end or (begin < i and (data[begin] | 32) == 109):
                        odd = True
                        break
                    i += ONE
            else:
                odd = True
                break
        if odd:
            soft[:] = 0
            status = ODD
            break
        # ---- what the words ask for; the n_ names are what the state becomes if the line is accepted
        axes = have & axis_bits
        centres = have & centre_bits
        radius = (have >> 17) & 1
        n_unit, n_feed, n_feed_mode, n_motion, n_plane = unit, feed, feed_mode, motion, plane
        n_incremental, n_arc_absolute = incremental, arc_absolute
        if (have >> 5) & 1:
            n_feed = word[5]
        if registered:
            if register[G_MOTION] >= 0:
                n_motion = int(register[G_MOTION])
            if register[G_UNITS] >= 0:
                n_unit = 25.4 if register[G_UNITS] == 200 else 1.0
            if register[G_FEED_MODE] >= 0:
                n_feed_mode = register[G_FEED_MODE] / 10.0
                if n_feed_mode != feed_mode and (have >> 5) & 1 == 0:
                    n_feed = NAN
            if register[G_DISTANCE] >= 0:
                n_incremental = register[G_DISTANCE] == 910
            if register[G_ARC_DISTANCE] >= 0:
                n_arc_absolute = register[G_ARC_DISTANCE] == 901
            if register[G_PLANE] >= 0:
                n_plane = int(register[G_PLANE]) // 10
            if comp != 0 and (register[G_PLANE] >= 0 or register[G_UNITS] >= 0 or register[G_NOTHING] >= 0):
                odd = True
        moves = axes != 0 or (have & 7) != 0
        arc = n_motion == 20 or n_motion == 30
        if centres != 0 or radius == 1:
            if not arc:
                odd = True
            moves = True
        if moves:
            if n_motion < 0 or n_motion > 30 or not placed:
                odd = True
            if n_feed_mode == 93.0 and n_motion != 0 and (have >> 5) & 1 == 0:
                odd = True
        elif register[G_MOTION] >= 0 and (arc or not bare_ok):
            odd = True
        # ---- geometry
        sweep = 0.0
        length = 0.0
        c0, c1, c2 = NAN, NAN, NAN
        tx, ty, tz = px, py, pz
        if moves and not odd:
            if (axes >> 23) & 1:
                tx = px + word[23] * n_unit if n_incremental else word[23] * n_unit + shift_x
            if (axes >> 24) & 1:
                ty = py + word[24] * n_unit if n_incremental else word[24] * n_unit + shift_y
            if (axes >> 25) & 1:
                tz = pz + word[25] * n_unit if n_incremental else word[25] * n_unit + shift_z
            if not arc:
                length = math.sqrt((tx - px) ** 2 + (ty - py) ** 2 + (tz - pz) ** 2)
            else:
                if n_plane == 17:
                    a, b, t = 0, 1, 2
                    sa, sb, ea, eb, fa, fb, climb = px, py, tx, ty, shift_x, shift_y, tz - pz
                elif n_plane == 18:
                    a, b, t = 2, 0, 1
                    sa, sb, ea, eb, fa, fb, climb = pz, px, tz, tx, shift_z, shift_x, ty - py
                else:
                    a, b, t = 1, 2, 0
                    sa, sb, ea, eb, fa, fb, climb = py, pz, ty, tz, shift_y, shift_z, tx - px
                turn = -1 if n_motion == 20 else 1
                named = (axes >> (23 + a)) & 1 or (axes >> (23 + b)) & 1
                ca, cb, r = 0.0, 0.0, NAN
                if (
                    (centres >> (8 + t)) & 1
                    and word[8 + t] == 0.0
                    and rules[R_IDLE_CENTRE] != 0
                    and radius == 0
                ):
                    centres &= ~(np.int64(1) << (8 + t))
                if not named and (rules[R_ARC_END] != 0 or radius == 1):
                    odd = True
                elif radius == 1:
                    reach = word[17] * n_unit
                    same = abs(ea - sa) < ARC_EQUAL_MM and abs(eb - sb) < ARC_EQUAL_MM
                    if centres != 0 or same or not abs(reach) > 0.0:
                        odd = True
                    else:
                        ca, cb, excess = _radius_centre(sa, sb, ea, eb, reach, turn)
                        if not excess <= 0.0:
                            odd = True
                        else:
                            chord = math.sqrt((ea - sa) ** 2 + (eb - sb) ** 2)
                            height = math.sqrt(max(reach * reach - 0.25 * chord * chord, 0.0))
                            if excess < -1e-6 and (
                                height < 0.5 * chord * ARC_HALF_ROUNDING_MM / 0.01
                                or (reach < 0.0 and chord < LONG_ARC_CHORD * -reach)
                            ):
                                soft[SOFT_FLAT_ARC] = 1
                                softly = True
                            r = abs(reach)
                elif (centres >> (8 + t)) & 1 or centres == 0:
                    odd = True
                else:
                    va = word[8 + a] * n_unit if (centres >> (8 + a)) & 1 else 0.0
                    vb = word[8 + b] * n_unit if (centres >> (8 + b)) & 1 else 0.0
                    if n_arc_absolute:
                        if (centres >> (8 + a)) & 1 == 0 or (centres >> (8 + b)) & 1 == 0:
                            odd = True
                        ca, cb = va + fa, vb + fb
                    else:
                        ca, cb = sa + va, sb + vb
                    r = math.sqrt((sa - ca) ** 2 + (sb - cb) ** 2)
                    other = math.sqrt((ea - ca) ** 2 + (eb - cb) ** 2)
                    gap = abs(other - r)
                    if not (r > 0.0 and other > 0.0):
                        odd = True
                    elif gap > (ARC_TOLERANCE_MM if n_unit == 1.0 else ARC_TOLERANCE_IN * 25.4) + 1e-9:
                        if not gap <= max(ARC_ROUNDING_MM, ARC_ROUNDING_SHARE * r):
                            odd = True
                        soft[SOFT_ROUNDING] = 1
                        softly = True
                if not odd:
                    sweep = _sweep(sa, sb, ea, eb, ca, cb, turn)
                    if not abs(sweep) >= 0.0:
                        odd = True
                    if radius == 1 and rules[R_HALF_ARCS] == 0 and near_half(sweep):
                        soft[SOFT_FLAT_ARC] = 1
                        softly = True
                    length = math.sqrt((r * sweep) ** 2 + climb * climb)
                    if a == 0:
                        c0, c1, c2 = ca, cb, pz
                    elif a == 2:
                        c2, c0, c1 = ca, cb, py
                    else:
                        c1, c2, c0 = ca, cb, px
        # ---- violations that are only counted
        if softly:
            for k in range(10):
                if soft[k] != 0 and rules[R_SOFT + k] == 0:
                    odd = True
            for k in range(10):
                if not odd:
                    rules[R_COUNT + k] += soft[k]
                soft[k] = 0
        if odd:
            soft[:] = 0
            status = ODD
            break
        # ---- from here on the line is accepted: change the state
        li += 1
        if have != 0 or registered or spindle != -9 or coolant >= 0:
            state[WORDS] = 1.0
        if notes > 0 or registered or not moves or spindle != -9 or coolant >= 0:
            state[ROWS] = rows
            for k in range(notes):
                if state[COMMENTS] < rules[R_COMMENT_CAP]:
                    state[COMMENTS] += 1.0
                    _event(events, state, EVENT_COMMENT, li, NAN)
                    events[int(state[EVENTS]) - 1, 4] = note_start[k]
                    events[int(state[EVENTS]) - 1, 5] = note_end[k]
            if seen_bits != 0:
                state[SEEN] = float(np.int64(state[SEEN]) | seen_bits)
            if n_feed_mode != feed_mode:
                _event(events, state, EVENT_FEED_MODE, li, n_feed_mode)
            if not moves:
                if (have >> 5) & 1 and n_feed != feed and state[SPEED_EVENTS] < rules[R_COMMENT_CAP]:
                    state[SPEED_EVENTS] += 1.0
                    _event(events, state, EVENT_FEED, li, n_feed * unit)
                if (have >> 18) & 1 and word[18] != rpm and state[SPEED_EVENTS] < rules[R_COMMENT_CAP]:
                    state[SPEED_EVENTS] += 1.0
                    _event(events, state, EVENT_SPEED, li, word[18])
            if spindle != -9:
                turning = 1 if spindle == 3 else (-1 if spindle == 4 else 0)
                speed = word[18] if (have >> 18) & 1 else rpm
                _event(events, state, EVENT_SPINDLE, li, 0.0 if turning == 0 else turning * speed)
            if coolant >= 0:
                wet = 0 if coolant == 9 else wet | (1 if coolant == 7 else 2)
                _event(events, state, EVENT_COOLANT, li, float(wet))
            if register[G_PLANE] >= 0:
                if n_plane != plane or state[PLANE_KNOWN] == 0.0:
                    _event(events, state, EVENT_PLANE, li, float(n_plane))
                state[PLANE_KNOWN] = 1.0
            if register[G_UNITS] >= 0:
                if n_unit != unit or state[UNIT_KNOWN] == 0.0:
                    _event(events, state, EVENT_UNITS, li, register[G_UNITS] / 10.0)
                state[UNIT_KNOWN] = 1.0
                state_flags &= ~FLAG_UNITS_UNKNOWN
            if register[G_PATH] >= 0:
                _event(events, state, EVENT_PATH, li, register[G_PATH] / 10.0)
            if register[G_DISTANCE] >= 0:
                if n_incremental != incremental or state[DISTANCE_KNOWN] == 0.0:
                    _event(events, state, EVENT_DISTANCE, li, register[G_DISTANCE] / 10.0)
                state[DISTANCE_KNOWN] = 1.0
                state_flags &= ~FLAG_MODE_UNKNOWN
        if (have >> 18) & 1:
            rpm = word[18]
        unit, feed, feed_mode, motion, plane = n_unit, n_feed, n_feed_mode, n_motion, n_plane
        incremental, arc_absolute = n_incremental, n_arc_absolute
        if not moves:
            continue
        flags = state_flags
        if (have & 7) != 0:
            flags |= FLAG_ROTARY
        rate = NAN
        if motion != 0:
            if feed_mode == 94.0:
                rate = feed * unit
            elif feed_mode == 93.0:
                rate = feed * length
            else:
                rate = feed * unit * rpm
            if feed != feed:
                flags |= FLAG_FEED_UNKNOWN
        row = np.uint64(rows)
        out.kind[row] = motion // 10
        out.end_mm[row, 0] = tx
        out.end_mm[row, 1] = ty
        out.end_mm[row, 2] = tz
        out.centre_mm[row, 0] = c0
        out.centre_mm[row, 1] = c1
        out.centre_mm[row, 2] = c2
        out.plane[row] = plane
        out.length_mm[row] = length
        out.feed_mm_min[row] = rate
        out.feed_mode[row] = int(feed_mode)
        out.spindle_rpm[row] = rpm
        out.spindle_dir[row] = turning
        out.tool[row] = tool
        out.line[row] = li
        out.flags[row] = flags
        if arc:
            out.sweep_rad[row] = sweep
        if wet != 0:
            out.coolant[row] = wet
        if depth != 0:
            out.call_depth[row] = depth
        if frame != 0:
            out.frame[row] = frame
        px, py, pz = tx, ty, tz
        rows += 1
    state[PC] = li
    state[ROWS] = rows
    state[POS], state[POS + 1], state[POS + 2] = px, py, pz
    state[UNIT], state[FEED], state[FEED_MODE], state[RPM] = unit, feed, feed_mode, rpm
    state[MOTION], state[PLANE] = motion, plane
    state[INCREMENTAL] = 1.0 if incremental else 0.0
    state[ARC_ABSOLUTE] = 1.0 if arc_absolute else 0.0
    state[SPINDLE], state[COOLANT] = turning, wet
    return status
