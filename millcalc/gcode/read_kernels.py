"""The compiled reader: bytes of plain blocks straight to motion rows.

It reads lines until one is odd (anything but G0-G3 and the simple modal words, or anything doubtful), leaves the
state untouched by that line and returns; the plain reader takes the odd line and calls it again.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode import state as at
from millcalc.gcode.arc_kernels import ARC_FINE, ARC_ODD, ARC_ROUNDED, plain_arc
from millcalc.gcode.event_kernels import add_event, state_flags_of
from millcalc.gcode.motions import (
    FLAG_FEED_UNKNOWN,
    FLAG_MODE_UNKNOWN,
    FLAG_ROTARY,
    FLAG_UNITS_UNKNOWN,
)
from millcalc.gcode.state import Columns, Rules, State
from millcalc.gcode.text_kernels import (
    COMMENT_FOREIGN,
    COMMENT_ODD,
    COMMENT_REALTIME,
    ONE,
    TENS,
    read_number,
    skip_comment,
)
from millcalc.gcode.tuning import FAR_WORD, FARTHEST_MM, MAX_LINE_BYTES
from millcalc.kernels import kernel

NAN = float("nan")


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
    capacity = len(out.kind)
    room = len(events) - 16
    rows = int(state[at.ROWS])
    li = int(state[at.PC])
    last = int(rules[at.R_LAST])
    lower_ok, tab_ok, foreign_ok = rules[at.R_LOWER] != 0, rules[at.R_TAB] != 0, rules[at.R_FOREIGN] != 0
    realtime_ok, longest, bare_ok = rules[at.R_REALTIME] != 0, rules[at.R_MAX_LINE], rules[at.R_BARE] != 0
    axis_bits = np.int64((1 << 23) | (1 << 24) | (1 << 25))
    centre_bits = np.int64((1 << 8) | (1 << 9) | (1 << 10))
    px, py, pz = state[at.POS], state[at.POS + 1], state[at.POS + 2]
    shift_x, shift_y, shift_z = state[at.SHIFT], state[at.SHIFT + 1], state[at.SHIFT + 2]
    unit, feed, feed_mode, rpm = state[at.UNIT], state[at.FEED], state[at.FEED_MODE], state[at.RPM]
    motion, plane = int(state[at.MOTION]), int(state[at.PLANE])
    incremental, arc_absolute = state[at.INCREMENTAL] != 0.0, state[at.ARC_ABSOLUTE] != 0.0
    comp, placed = int(state[at.COMP]), state[at.PLACED] != 0.0
    tool, depth, frame = int(state[at.TOOL]), int(state[at.DEPTH]), int(state[at.FRAME])
    turning, wet = int(state[at.SPINDLE]), int(state[at.COOLANT])
    state_flags = state_flags_of(state, comp)
    registered = False
    centred = state[at.CENTRED] != 0.0
    status = at.DONE
    while li < last:
        if rows >= capacity:
            status = at.FULL
            break
        if state[at.EVENTS] > room:
            status = at.EVENTS_FULL
            break
        i = np.uint64(starts[li])
        end = np.uint64(starts[li + 1])
        size = int(end - i)
        while end > i and (data[end - ONE] == 10 or data[end - ONE] == 13):
            end -= ONE
        odd = False
        soft = 0
        if size > longest:
            if size > MAX_LINE_BYTES:
                status = at.ODD
                break
            soft |= 1 << at.SOFT_LENGTH
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
                    soft |= 1 << at.SOFT_LOWER
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
                            soft |= 1 << at.SOFT_TAB
                        begin += ONE
                if (
                    letter >= 23
                    or letter == 5
                    or letter == 18
                    or letter == 17
                    or (letter >= 8 and letter <= 10)
                ):
                    of_rate = letter == 5 or letter == 18
                    far = value > FAR_WORD or value < -FAR_WORD
                    if (have >> letter) & 1 or (of_rate and value < 0.0) or (far and not of_rate):
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
                    kind = rules[at.R_GCLASS + code]
                    if kind == 0 or register[kind] >= 0:
                        odd = True
                        break
                    register[kind] = code
                    registered = True
                    if rules[at.R_GSEEN + code] >= 0:
                        seen_bits |= np.int64(1) << rules[at.R_GSEEN + code]
                elif letter == 12:  # M
                    code = int(value + 0.5)
                    if value < 0.0 or code > 99 or abs(value - code) > 1e-6:
                        odd = True
                        break
                    kind = rules[at.R_MCLASS + code]
                    if (
                        kind == 0
                        or (kind == at.M_COOLANT and coolant >= 0)
                        or (kind != at.M_COOLANT and spindle != -9)
                    ):
                        odd = True
                        break
                    if kind == at.M_COOLANT:
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
                    if digits > rules[at.R_NUMBER_DIGITS]:
                        soft |= 1 << at.SOFT_DIGITS
                elif letter <= 2:  # A B C
                    if (have >> letter) & 1 or rules[at.R_ROTARY] == 0:
                        odd = True
                        break
                    have |= np.int64(1) << letter
                    soft |= 1 << at.SOFT_ROTARY
                else:
                    odd = True
                    break
                first = False
            elif c == 32:
                pass
            elif c == 9:
                if not tab_ok:
                    soft |= 1 << at.SOFT_TAB
            elif c == 40 or c == 59:  # ( ;
                begin = i
                i, verdict = skip_comment(data, i, end, c == 40)
                if verdict == COMMENT_ODD or notes >= 4:
                    odd = True
                    break
                if verdict & COMMENT_FOREIGN and not foreign_ok:
                    soft |= 1 << at.SOFT_FOREIGN
                if verdict & COMMENT_REALTIME and not realtime_ok:
                    soft |= 1 << at.SOFT_REALTIME
                if c == 59 and rules[at.R_SEMICOLON] == 0:
                    soft |= 1 << at.SOFT_SEMICOLON
                note_start[notes] = np.int64(begin)
                note_end[notes] = np.int64(i)
                notes += 1
                if c == 40:
                    i += ONE
            else:
                odd = True
                break
        if odd:
            status = at.ODD
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
            if register[at.G_MOTION] >= 0:
                n_motion = int(register[at.G_MOTION])
            if register[at.G_UNITS] >= 0:
                n_unit = 25.4 if register[at.G_UNITS] == 200 else 1.0
            if register[at.G_FEED_MODE] >= 0:
                n_feed_mode = register[at.G_FEED_MODE] / 10.0
                if n_feed_mode != feed_mode and (have >> 5) & 1 == 0:
                    n_feed = NAN
            if register[at.G_DISTANCE] >= 0:
                n_incremental = register[at.G_DISTANCE] == 910
            if register[at.G_ARC_DISTANCE] >= 0:
                n_arc_absolute = register[at.G_ARC_DISTANCE] == 901
            if register[at.G_PLANE] >= 0:
                n_plane = int(register[at.G_PLANE]) // 10
            if comp != 0 and (
                register[at.G_PLANE] >= 0 or register[at.G_UNITS] >= 0 or register[at.G_NOTHING] >= 0
            ):
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
        elif register[at.G_MOTION] >= 0 and (arc or not bare_ok):
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
            if abs(tx) > FARTHEST_MM or abs(ty) > FARTHEST_MM or abs(tz) > FARTHEST_MM:
                odd = True
            if not arc:
                length = math.sqrt((tx - px) ** 2 + (ty - py) ** 2 + (tz - pz) ** 2)
            else:
                places = ((px, py, pz), (tx, ty, tz), (shift_x, shift_y, shift_z))
                verdict, c0, c1, c2, sweep, length = plain_arc(
                    word, have, rules, n_plane, -1 if n_motion == 20 else 1, places, n_unit, n_arc_absolute
                )
                if verdict == ARC_ODD:
                    odd = True
                elif verdict != ARC_FINE:
                    soft |= 1 << (at.SOFT_ROUNDING if verdict == ARC_ROUNDED else at.SOFT_FLAT_ARC)
        # ---- violations that are only counted
        if soft != 0 and not odd:
            for k in range(10):
                if (soft >> k) & 1 and rules[at.R_SOFT + k] == 0:
                    odd = True
            for k in range(10):
                if not odd:
                    rules[at.R_COUNT + k] += (soft >> k) & 1
        if odd:
            status = at.ODD
            break
        # ---- from here on the line is accepted: change the state
        li += 1
        if have != 0 or registered or spindle != -9 or coolant >= 0:
            state[at.WORDS] = 1.0
        if notes > 0 or registered or not moves or spindle != -9 or coolant >= 0:
            state[at.ROWS] = rows
            for k in range(notes):
                if state[at.COMMENTS] < rules[at.R_COMMENT_CAP]:
                    state[at.COMMENTS] += 1.0
                    add_event(events, state, at.EVENT_COMMENT, li, NAN)
                    events[int(state[at.EVENTS]) - 1, 4] = note_start[k]
                    events[int(state[at.EVENTS]) - 1, 5] = note_end[k]
            if seen_bits != 0:
                state[at.SEEN] = float(np.int64(state[at.SEEN]) | seen_bits)
            if n_feed_mode != feed_mode:
                add_event(events, state, at.EVENT_FEED_MODE, li, n_feed_mode)
            if not moves:
                if (have >> 5) & 1 and n_feed != feed and state[at.SPEED_EVENTS] < rules[at.R_COMMENT_CAP]:
                    state[at.SPEED_EVENTS] += 1.0
                    add_event(events, state, at.EVENT_FEED, li, n_feed * unit)
                if (have >> 18) & 1 and word[18] != rpm and state[at.SPEED_EVENTS] < rules[at.R_COMMENT_CAP]:
                    state[at.SPEED_EVENTS] += 1.0
                    add_event(events, state, at.EVENT_SPEED, li, word[18])
            if spindle != -9:
                turning = 1 if spindle == 3 else (-1 if spindle == 4 else 0)
                speed = word[18] if (have >> 18) & 1 else rpm
                add_event(events, state, at.EVENT_SPINDLE, li, 0.0 if turning == 0 else turning * speed)
            if coolant >= 0:
                wet = 0 if coolant == 9 else wet | (1 if coolant == 7 else 2)
                add_event(events, state, at.EVENT_COOLANT, li, float(wet))
            if registered:
                if register[at.G_PLANE] >= 0:
                    if n_plane != plane or state[at.PLANE_KNOWN] == 0.0:
                        add_event(events, state, at.EVENT_PLANE, li, float(n_plane))
                    state[at.PLANE_KNOWN] = 1.0
                if register[at.G_UNITS] >= 0:
                    if n_unit != unit or state[at.UNIT_KNOWN] == 0.0:
                        add_event(events, state, at.EVENT_UNITS, li, register[at.G_UNITS] / 10.0)
                    state[at.UNIT_KNOWN] = 1.0
                    state_flags &= ~FLAG_UNITS_UNKNOWN
                if register[at.G_PATH] >= 0:
                    add_event(events, state, at.EVENT_PATH, li, register[at.G_PATH] / 10.0)
                if register[at.G_DISTANCE] >= 0:
                    if n_incremental != incremental or state[at.DISTANCE_KNOWN] == 0.0:
                        add_event(events, state, at.EVENT_DISTANCE, li, register[at.G_DISTANCE] / 10.0)
                    state[at.DISTANCE_KNOWN] = 1.0
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
        if arc and not centred:
            out.centre_mm[:rows] = NAN
            centred = True
            state[at.CENTRED] = 1.0
        if centred:
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
    state[at.PC] = li
    state[at.ROWS] = rows
    state[at.POS], state[at.POS + 1], state[at.POS + 2] = px, py, pz
    state[at.UNIT], state[at.FEED], state[at.FEED_MODE], state[at.RPM] = unit, feed, feed_mode, rpm
    state[at.MOTION], state[at.PLANE] = motion, plane
    state[at.INCREMENTAL] = 1.0 if incremental else 0.0
    state[at.ARC_ABSOLUTE] = 1.0 if arc_absolute else 0.0
    state[at.SPINDLE], state[at.COOLANT] = turning, wet
    return status
