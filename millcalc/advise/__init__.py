"""What settings to use: speed, feed, depth and width, and which limit holds each number back.

Takes a :class:`~millcalc.advise.tooling.Tooling` (machine, material and cutter put together at a stickout and
a drop) and a :class:`~millcalc.advise.tooling.CutRequest`; gives an :class:`~millcalc.advise.result.Advice`.
``limits`` holds one function per limit, ``solve`` searches, ``buys`` computes what would buy more,
``entries`` the plunge, ramp and helix. May import tables, mechanics, units, tuning, errors; never scipy.
"""
