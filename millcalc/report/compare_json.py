"""What two programs differ in, as data."""

from __future__ import annotations

from typing import Any

from millcalc.check.compare import Compared, findings_by_code
from millcalc.check.run import Looked
from millcalc.gcode.summary import ProgramSummary
from millcalc.report.compare_words import describe, event_text

SCHEMA = "millcalc-compare/1"


def compared_data(compared: Compared) -> dict[str, Any]:
    """A comparison as data for JSON; lengths in mm, feeds in mm/min, times in s.

    compared: The comparison.
    Returns: Only strings, numbers, booleans, lists, dicts and None.
    """
    difference = compared.difference
    left = compared.left
    return {
        "schema": SCHEMA,
        "same": compared.same,
        "same_text": difference.same_text,
        "a": _side(compared.a, compared.summary_a),
        "b": _side(compared.b, compared.summary_b),
        "motions": {
            "same": difference.same_motions,
            "other_way": difference.changed_way,
            "only_in_a": difference.only_a,
            "only_in_b": difference.only_b,
            "other_setting": difference.settings,
            "feed_ratio": list(difference.feed_ratio) if difference.feed_ratio else None,
            "all_shifted_mm": list(difference.shift_mm) if difference.shift_mm else None,
            "all_scaled": difference.scale,
        },
        "stretch_count": difference.stretch_count,
        "stretches": [
            {
                "differs_in": list(stretch.what.words),
                "motions": stretch.count,
                "lines_a": list(stretch.lines_a) if stretch.lines_a else None,
                "lines_b": list(stretch.lines_b) if stretch.lines_b else None,
                "first": describe(compared, stretch),
            }
            for stretch in difference.stretches
        ],
        "events": [
            {"only_in": c.program.lower(), "line": c.event.line, "what": event_text(c.event)}
            for c in difference.events
        ],
        "left_over": None if left is None else {name: round(v, 4) for name, v in vars(left).items()},
        "left_over_missing": compared.left_missing,
    }


def _side(looked: Looked, summary: ProgramSummary) -> dict[str, Any]:
    report = looked.report
    counts = {word: report.count(word) for word in ("stop", "warning", "note")}
    return {
        "program": report.program.model_dump(mode="json"),
        "feed_time_s": round(sum(tool.feed_time_s for tool in summary.tools), 3),
        "feed_length_mm": round(sum(tool.feed_length_mm for tool in summary.tools), 3),
        "rapid_length_mm": round(sum(tool.rapid_length_mm for tool in summary.tools), 3),
        "times": report.times.model_dump(mode="json", exclude={"watch"}) if report.times else None,
        "cut": report.cut.model_dump(mode="json"),
        "findings": {"counts": counts, "codes": findings_by_code(report)},
    }
