"""Tuning numbers of report: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Motions written to a table at a time [-]: about 100 MB of working memory. Estimate.
TABLE_CHUNK_ROWS: Final = 50_000
