"""Programs that say nothing, little or something else: every result renders, every control works or is absent."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from millcalc.report.page_html import report_page
from tests.helpers import looking

ESCAPE, TURN = "\x1b[2J", "\u202eG0 X5\u2066"
ODD = {
    "no move": ("(nothing moves)\nG21 G90\nM2\n", "It cuts nothing"),
    "only X": ("G21 G90\nG1 X5 F100\nX9\nM2\n", "It cuts nothing"),
    "text": ("Dear neighbour,\nthe gate is open.\n" + ESCAPE + "\n(" + TURN + ")\n", "cuts nothing"),
    "empty": ("", "cuts nothing"),
    "air": (looking.SLOTS.replace("Z-0.5", "Z4"), "It cuts nothing"),
}
CLICK_ALL = """const out = [];
for (const e of Array.from(document.querySelectorAll('button, input[type=checkbox], summary'))) {
    if (e.getClientRects().length) { e.click(); out.push(e.id || e.className || e.tagName); } }
const line = document.getElementById('line');
if (line && line.getClientRects().length) {
    line.value = 2;
    line.dispatchEvent(new Event('change', { bubbles: true }));
}
return out"""


@pytest.mark.parametrize(
    ("kind", "job"),
    [
        *((kind, True) for kind in ODD),
        ("no move", False),
        ("only X", False),
        ("text", False),
        ("empty", False),
    ],
)
def test_odd_programs_render_and_every_control_works(
    browser: Any, written: Callable[[str, str], Path], tmp_path: Path, kind: str, job: bool
) -> None:
    text, verdict = ODD[kind]
    found = looking.looked(tmp_path, text, looking.JOB if job else None)
    browser.screen(390)
    browser.open(written("odd.html", report_page(found)))
    browser.ready()
    said = browser.run("return document.getElementById('banner').textContent")
    stops = found.report.count("stop")
    assert (f"Do not run: {stops} stop" if stops else verdict).lower() in said.lower()
    assert browser.run("return document.querySelectorAll('#code .row').length") == min(
        found.ctx.program.lines, 42
    )
    browser.run(CLICK_ALL)
    assert browser.console() == []
    if job:
        assert browser.run("return document.querySelectorAll('svg#top .uncut, svg#top #stock').length") == 1


def test_what_a_browser_would_obey_stands_as_its_code(
    browser: Any, written: Callable[[str, str], Path], tmp_path: Path
) -> None:
    found = looking.looked(tmp_path, ODD["text"][0], None, name="a\u202eb.nc")
    browser.screen(900)
    browser.open(written("codes.html", report_page(found)))
    browser.ready()
    rows = browser.run(
        "return Array.from(document.querySelectorAll('#code .row')).map((r) => [r.textContent, "
        "r.querySelectorAll('.code').length, getComputedStyle(r).unicodeBidi])"
    )
    assert rows[2] == ["3\\u001b[2J", 1, "isolate"]
    assert rows[3] == ["4(\\u202eG0 X5\\u2066)", 2, "isolate"]
    assert browser.run("return document.querySelector('h1').textContent") == "a\\u202eb.nc"
    obeyed = "return /[\\u202a-\\u202e\\u2066-\\u2069\\u001b]/.test(document.body.innerText)"
    assert browser.run(obeyed) is False
