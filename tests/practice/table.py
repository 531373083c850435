"""Print the table of practice with the share of each row's worst limit: ``python -m tests.practice.table``."""

from __future__ import annotations

from tests.practice.chain import ABSURD, WORKS, Cut, check


def line(cut: Cut) -> str:
    """One row: the largest share of a limit, the stops and warnings."""
    report = check(cut)
    uses = [use for tool in report.program.tools for use in tool.limits]
    worst = max(uses, key=lambda use: use.share, default=None)
    share = f"{worst.share:5.2f} {worst.key:<14}" if worst else "    -               "
    said = [f"{f.code} {f.severity}" for f in report.findings if f.severity != "note"]
    return f"{cut.name:<28} {cut.kind:<12} {share} {', '.join(said)}"


if __name__ == "__main__":
    for title, cuts in (("works", WORKS), ("absurd", ABSURD)):
        print(title)
        for cut in cuts:
            print("  " + line(cut))
