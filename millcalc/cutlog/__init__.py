"""The log of cuts: what was cut, with which settings, how it went, and what that teaches.

Takes entries (:mod:`~millcalc.cutlog.models`), keeps them in one SQLite file
(:mod:`~millcalc.cutlog.schema`, :mod:`~millcalc.cutlog.store`), finds past cuts that resemble a planned one
(:mod:`~millcalc.cutlog.similar`) and learns how far this machine's limits lie from the computed ones
(:mod:`~millcalc.cutlog.learn`, :mod:`~millcalc.cutlog.margins`).
May import errors, units, tuning, tables and mechanics; knows nothing of programs, jobs or reports except the
plain data handed to :mod:`~millcalc.cutlog.fill`. pandas and matplotlib are imported only inside
:mod:`~millcalc.cutlog.stats`.
"""
