"""The result of ``millcalc check`` for other programs: one JSON document with a versioned schema."""

from __future__ import annotations

import json
from typing import Any

from millcalc.check.model import FORMAT, VERSION, CheckReport


def check_json(report: CheckReport) -> str:
    """A check as JSON text.

    report: What to write.
    Returns: One JSON document with a final line end; only ASCII, so that any pipe carries it.
    """
    return json.dumps(report.model_dump(mode="json"), indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def report_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of the check's JSON.

    Returns: The schema, with its own identifier and version.
    """
    schema = CheckReport.model_json_schema(mode="serialization")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:millcalc:{FORMAT}:{VERSION}",
        **schema,
    }
