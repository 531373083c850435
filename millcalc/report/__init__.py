"""One result, several faces: terminal, page, sheet, pictures, JSON, SARIF, CSV.

Takes what ``check``, ``advise``, ``holding`` and the log of cuts computed, and only renders. ``console`` decides width,
colour and characters. Heavy libraries are imported inside the functions that need them. Imported by ``cli`` and
``page`` alone.
"""
