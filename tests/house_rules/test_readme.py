"""README stays true: its rule table is the rules' own, its commands run, its size stays small."""

from __future__ import annotations

import re
from pathlib import Path

from millcalc.check.codes import code_doc, known_codes, rule_table

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_rule_table_is_generated_and_true() -> None:
    """To renew it: ``python tests/house_rules/test_readme.py``."""
    match = re.search(r"<!-- generated: rules -->\n(.*?)\n<!-- end generated -->", README, re.S)
    assert match and match.group(1) == rule_table()


def test_every_code_is_documented() -> None:
    for code in known_codes():
        doc = code_doc(code)
        assert doc is not None
        for part in ("title", "flags", "why", "source"):
            assert doc[part], f"{code} has no {part}"


def test_readme_is_short_and_has_both_commands() -> None:
    assert len(README.splitlines()) < 250
    for command in ("demo", "tests"):
        assert len(re.findall(rf"<!-- command: {command} -->\n```sh\n[^\n]+\n```", README)) == 1


def test_links_lead_somewhere() -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", README):
        assert (ROOT / target).exists(), target


if __name__ == "__main__":
    renewed = re.sub(
        r"(<!-- generated: rules -->\n).*?(<!-- end generated -->)",
        lambda m: m.group(1) + rule_table() + "\n" + m.group(2),
        README,
        flags=re.S,
    )
    (ROOT / "README.md").write_text(renewed, encoding="utf-8", newline="\n")
