"""One result model, several faces: terminal, page, sheet, pictures, JSON, SARIF, CSV.

Takes what ``advise``, ``preflight`` and the log of cuts computed; ``pipeline`` is the road from files to a
:class:`~millcalc.report.model.CheckReport`, ``build`` makes it, the other modules only render. ``console`` decides
width, colour and characters; ``cautions`` which cautions are shown. May import every earlier stage; heavy libraries
inside the functions that need them. Imported by ``cli`` alone.
"""
