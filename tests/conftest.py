"""Output as wide as on any pipe; hypothesis draws the same cases every run unless MILLCALC_EXPLORE is set."""

from __future__ import annotations

import os

from hypothesis import settings

os.environ.pop("COLUMNS", None)
settings.register_profile("fixed", derandomize=True, deadline=None, database=None)
settings.register_profile("explore", deadline=None, database=None)
settings.load_profile("explore" if os.environ.get("MILLCALC_EXPLORE") else "fixed")
