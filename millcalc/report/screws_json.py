"""Where the work can be held, for other programs: one JSON document."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from typing import Any

from millcalc.findings import Finding
from millcalc.holding.result import HoldDown

FORMAT, VERSION = "hold-down", 1


def screws_json(answer: HoldDown, lines: tuple[str, ...], again: tuple[Finding, ...], *, name: str) -> str:
    """The answer as JSON text.

    answer: What was found.
    lines: The screws as lines for the job file.
    again: What the check's rules say of the proposal.
    name: Name of the program.
    Returns: One JSON document with a final line end; lengths in mm, forces in N; null where nothing is
      known or nothing comes down.
    """
    place = answer.map
    document: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "program": name,
        "fine": answer.fine,
        "given": [asdict(verdict) for verdict in answer.verdicts],
        "proposal": [
            {
                "screw": proposed.screw.model_dump(mode="json"),
                "nearest": asdict(proposed.nearest),
                "spare_mm": proposed.nearest.spare_mm,
                "piece": proposed.piece,
                "given": proposed.given,
                "in_part": proposed.in_part,
            }
            for proposed in answer.proposal
        ],
        "job_lines": list(lines),
        "pieces": [{**asdict(piece), "held": piece.held} for piece in answer.pieces],
        "gone": [{"x_mm": x, "y_mm": y, "line": line} for x, y, line in answer.gone],
        "load_n": answer.load_n,
        "holds_n": answer.holds_n,
        "others": list(answer.others),
        "safety": answer.safety,
        "span_mm": answer.span_mm,
        "span_limit_mm": answer.span_limit_mm,
        "clamp": dict(zip(("width_mm", "reach_mm", "height_mm"), answer.clamp_mm, strict=True)),
        "clamp_runs": [asdict(run) for run in answer.clamp_runs],
        "map": {
            "x_mm": place.x_mm.tolist(),
            "y_mm": place.y_mm.tolist(),
            "spare_mm": place.spare_mm.tolist(),
            "body": place.body.tolist(),
            "bodies": list(place.bodies),
            "line": place.line.tolist(),
            "kind": place.kind.tolist(),
            "kinds": ["cut through", "rim", "inside a cut outline"],
            "blocked": place.blocked.tolist(),
        },
        "finest_mm": answer.finest_mm,
        "assumed": list(answer.assumed),
        "problems": list(answer.problems),
        "rules": [{"code": f.code, "severity": f.severity.word, "fact": f.fact} for f in again],
        "not_checked": list(answer.not_checked),
    }
    return json.dumps(_finite(document), indent=1, ensure_ascii=True, allow_nan=False) + "\n"


def _finite(value: Any) -> Any:
    """The same with null for what is not finite."""
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
