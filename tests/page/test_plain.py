"""What a command says is said on a page without options and commands; every sentence of the sources is tried."""

from __future__ import annotations

import ast
import re

import pytest

from millcalc.page.plain import document, unoptioned
from tests.helpers.sources import ROOT, modules, nodes_of

TYPED = re.compile(r"(?<![\w-])--[a-z]|\bmillcalc [a-z]+")
# who runs the page reads these at the terminal; how.py is cut into steps before (page/measuring.py)
NOT_SHOWN = ("cli/", "page/serve.py", "page/plain.py", "measure/how.py")
MAY_STAY = re.compile(
    r"millcalc (?:page|job file|itself|wrote|write|failed|choose|read|chooses|helps|ends|that wrote|knows)"
)


def sentences() -> list[tuple[str, str]]:
    """Texts of the sources that name an option or a command, with their file."""
    found = []
    for path in modules():
        name = path.relative_to(ROOT).as_posix()
        if name.startswith(NOT_SHOWN):
            continue
        nodes = nodes_of(path)
        apart = {
            id(node.body[0].value)
            for node in nodes
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
            and node.body
            and isinstance(node.body[0], ast.Expr)
        }
        apart |= {id(part) for node in nodes if isinstance(node, ast.JoinedStr) for part in node.values}
        for node in nodes:
            if isinstance(node, ast.JoinedStr):
                text = "".join(
                    str(part.value) if isinstance(part, ast.Constant) else "7" for part in node.values
                )
            elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in apart:
                text = node.value
            else:
                continue
            if TYPED.search(text):
                found.append((name, text))
    symptoms = (ROOT / "advise" / "symptoms.yaml").read_text(encoding="utf-8")
    return found + [("symptoms.yaml", line) for line in symptoms.splitlines() if TYPED.search(line)]


def test_no_sentence_of_the_sources_keeps_an_option_or_a_command() -> None:
    all_ = sentences()
    assert len(all_) > 60
    left = [(name, said) for name, text in all_ if TYPED.search(MAY_STAY.sub("", said := unoptioned(text)))]
    assert left == []


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("give a speed in this range, or leave --rpm out", "give a speed in this range, or leave speed out"),
        ("give --by 12 or more", "give rise 12 or more"),
        (
            "choose one (`millcalc tables cutters` lists them) or write your own",
            "choose one or write your own",
        ),
        ("raise the work: millcalc alternatives --bed", "raise the work: Settings page, other bed heights"),
        ("Run millcalc check on the copy: it also lists", "Use the Check page for the copy: it also lists"),
        ("a flute -- and a shank, X--5, 3--4", "a flute -- and a shank, X--5, 3--4"),
    ],
)
def test_sentences_stay_sentences(typed: str, said: str) -> None:
    assert unoptioned(typed) == said


def test_a_report_names_what_the_page_has() -> None:
    body = "<p>3 more; <code>millcalc check --json</code> lists them all.</p>"
    assert document(body) == "<p>3 more; the file of findings lists them all.</p>"
    line = "<p>Log it: <code>millcalc log add --from-program a.nc</code> asks these five; code</p>"
    assert document(line) == "<p>Log it on the page: it asks these five; code</p>"
