"""Output is as wide as on any pipe, and hypothesis draws the same cases every run; set MILLCALC_EXPLORE=1 to look for new ones."""

from __future__ import annotations

import os

from hypothesis import settings

os.environ.pop("COLUMNS", None)
settings.register_profile("fixed", derandomize=True, deadline=None, database=None)
settings.register_profile("explore", deadline=None, database=None)
settings.load_profile("explore" if os.environ.get("MILLCALC_EXPLORE") else "fixed")
