"""What the cutter really bites: a heightfield of the stock from which each motion removes material, in program order.

Takes the motion table of ``gcode``, the stock as a box, the cutters as bodies of revolution and what holds the
stock; gives :class:`millcalc.stock.result.Removal`: depth, width, engagement, side and volume of every motion,
contact of shank and collet nut, the stock that is left, pieces that come free, thin webs.
Entry: :func:`millcalc.stock.simulate.simulate`; cutters from :func:`millcalc.stock.cutter_shapes.shape_from_cutter`.
May import ``gcode.motions``, ``mechanics``, ``kernels`` and ``tuning``; knows nothing of jobs, rules or reports.
The cells lie on a grid turned against the axes (see ``grid.py``), so that walls along X, Y and 45 degrees never
fall on a row of cells; the field that is handed out is straight again.
"""
