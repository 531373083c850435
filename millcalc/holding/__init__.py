"""Where the work can be held: places for screws and clamps, the given ones judged, a set proposed.

Takes a context (program, set-up, simulated cut) and gives a :class:`~millcalc.holding.result.HoldDown`: for every
place the exact smallest distance of cutter and holder over the whole program, the verdict on the job's own screws
and clamps with the smallest move that clears them, and screws that hold every piece that stays. Forces come from
the same model as the check's; withdrawal from the Wood Handbook's formula; friction is an estimate and marked so.
May import tables, job, mechanics, advise, gcode, stock and preflight.
"""
