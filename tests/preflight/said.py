"""What is found in every failing case and what is not looked at, word for word: ``python -m tests.preflight.said``.

With codes behind it (``FEED-03 SPIN-01``) only theirs are.

Look at the difference before it is kept: a number that changed is a change of the program.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from millcalc.findings import Finding

SAID = Path(__file__).parent / "said.json"


def told(finding: Finding, text: bytes) -> dict[str, Any]:
    """One finding as a person meets it: the words it points at, the numbers it compared, and what it says."""
    lines = text.split(b"\n")
    where = []
    for span in finding.spans[:3]:
        row = lines[span.line - 1]
        where.append(f"{span.line}: {(row[span.start - 1 : span.end - 1] if span.start else row).decode()}")
    compared = [finding.measured, finding.limit]
    place = finding.place_mm and [None if v != v else round(v, 3) + 0.0 for v in finding.place_mm]
    return {
        "at": [finding.severity.word, finding.tool, finding.count, finding.last_line, *where],
        "place": place,
        "compared": [*(None if value is None else float(f"{value:.6g}") for value in compared), finding.unit],
        "fact": finding.fact,
        "action": finding.action,
    }


def _write(codes: list[str]) -> None:
    from tests.preflight.test_cases import asked, cases, said, unchecked

    everything: dict[str, Any] = {}
    for code, entry in cases().items():
        named = [(f"{code}-{number}", case) for number, case in enumerate(entry["fails"])]
        open_ = [(f"{code}-{n} passes", c) for n, c in enumerate(entry["passes"]) if "ignore_unchecked" in c]
        for name, case in named + open_:
            if code in codes or not codes or name not in said():
                says, outcome = asked(code, case)
                everything[name] = says + unchecked(code, outcome)
            else:
                everything[name] = said()[name]
    rows = []
    for name, findings in everything.items():
        parts = [
            ",\n  ".join(f"{json.dumps(k)}: {json.dumps(v)}" for k, v in one.items()) for one in findings
        ]
        rows.append(f'"{name}": [\n ' + ",\n ".join(f"{{{part}}}" for part in parts) + "\n]")
    SAID.write_text("{" + ",\n".join(rows) + "}\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    _write(sys.argv[1:])
