"""The sheet prints on one page, on both papers, however crowded it is."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from millcalc.check.model import NotCheckedOut, QuietedOut
from millcalc.check.run import Looked
from millcalc.report.sheet import sheet_page
from tests.helpers import looking

PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}


def _crowded(folder: Path) -> Looked:
    """Six cutters, twelve screws, everything accepted and much unknown, and long names everywhere."""
    screws = "\n".join(
        f"  - {{x: {5 + 5 * i}, y: {5 if i % 2 else 35}, size: wood 4.0 round, name: a screw of very long name {i}}}"
        for i in range(12)
    )
    names = ("flat-6mm-1f", "flat-3mm-2f", "drill-3mm-hss", "ball-6mm-2f", "flat-4mm-2f", "flat-2mm-2f")
    cutters = "\n".join(f"  T{i}: {{cutter: {name}, stickout: 22}}" for i, name in enumerate(names, 1))
    job = looking.JOB.split("screws:")[0] + f"screws:\n{screws}\nclamps: none\ncutters:\n{cutters}\n"
    job = job.replace("mast bracket of the weather station", "mast bracket of the weather station " * 4)
    body = looking.SLOTS.split("T1 M6")[1].split("M5")[0]
    parts = []
    for i in range(1, 7):
        deep = "".join(
            f"G1 Z-{0.17 * k * (1 + k % 3):.2f} F75\nG1 X{20 + k} F{300 + k}\n" for k in range(1, 9)
        )
        parts.append(f"M5\nG0 Z10\nM0\nT{i} M6{body}G1 Z0 F75\n{deep}G0 Z10\n")
    text = "G21 G90 G17 G94 G54\nG0 Z10\n" + "".join(parts) + "M5\nM2\n"
    found = looking.looked(
        folder, text, job, name="a program with quite a long name for its file " * 3 + ".nc"
    )
    report = found.report
    reason = "because it was measured twice, on two days, with two callipers, and came out the same " * 2
    quieted = tuple(QuietedOut(finding=f, reason=reason, origin="this run") for f in report.findings[:9])
    unknown = tuple(
        NotCheckedOut(
            code=f"X-{i:02d}",
            what="something that has quite a long name " * 4,
            because=f"fact {i} is unknown",
        )
        for i in range(12)
    )
    return Looked(found.ctx, report.model_copy(update={"quieted": quieted, "not_checked": unknown}))


@pytest.fixture(scope="module")
def sheets(written: Callable[[str, str], Path], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    found = {
        "good": looking.demo("sensor_plate", "good"),
        "bad": looking.demo("sensor_plate", "bad"),
        "box": looking.demo("box"),
        "window": looking.demo("window"),
        "crowded": _crowded(tmp_path_factory.mktemp("crowded")),
        "bare": looking.looked(tmp_path_factory.mktemp("bare"), "G0 Z5\n", None),
    }
    return {name: written(f"{name}.html", sheet_page(one)) for name, one in found.items()}


@pytest.mark.parametrize("paper", sorted(PAPERS))
@pytest.mark.parametrize("name", ["good", "bad", "box", "window", "crowded", "bare"])
def test_one_page(browser: Any, sheets: dict[str, Path], name: str, paper: str) -> None:
    pypdf = pytest.importorskip("pypdf", reason="the dev extra brings pypdf")
    browser.open(sheets[name])
    pdf = pypdf.PdfReader(io.BytesIO(browser.pdf(*PAPERS[paper])))
    assert len(pdf.pages) == 1
    text = pdf.pages[0].extract_text()
    assert "not a guarantee" in text, "the last line of the sheet is on it"
    assert browser.console() == []


def test_it_needs_no_colour_and_no_script(browser: Any, sheets: dict[str, Path]) -> None:
    browser.screen(900)
    browser.open(sheets["good"])
    colours = browser.run(
        """const grey = (c) => { const n = (c.match(/[\\d.]+/g) || []).map(Number);
            return n.length < 3 || (n[0] === n[1] && n[1] === n[2]); };
        return Array.from(document.querySelectorAll('body *')).flatMap((e) => { const s = getComputedStyle(e);
            return [s.color, s.backgroundColor, s.fill, s.stroke].filter((c) => /^rgb/.test(c) && !grey(c)); })"""
    )
    assert colours == []
    assert browser.run("return document.scripts.length") == 0
    assert [url for url in browser.requests() if not url.startswith(("data:", "file:"))] == []


def test_accessibility_rules_hold_for_the_sheet(browser: Any, axe: str, sheets: dict[str, Path]) -> None:
    browser.screen(900)
    browser.open(sheets["good"])
    browser.driver.execute_cdp_cmd("Runtime.evaluate", {"expression": axe})
    found = browser.driver.execute_async_script(
        "const done = arguments[0]; axe.run().then((r) => done(r.violations.map((v) => "
        "[v.id, v.nodes.slice(0, 2).map((n) => n.html.slice(0, 160))])))"
    )
    assert found == []


PHONE = """const rect = (e) => e.getBoundingClientRect();
const every = Array.from(document.querySelectorAll('main p, main li, main td, main th'));
const cells = every.filter((e) => e.textContent.trim() && !e.classList.contains('across'));
const narrow = cells.filter((e) => e.textContent.trim().length > 8 && rect(e).height > 3 * rect(e).width);
return { wide: document.documentElement.scrollWidth, narrow: narrow.map((e) => e.textContent.trim().slice(0, 40)),
    tiny: cells.filter((e) => parseFloat(getComputedStyle(e).fontSize) < 11).length,
    banner: (document.querySelector('.stopped') || { textContent: '' }).textContent,
    across: (document.querySelector('.across') || { textContent: '' }).textContent }"""


@pytest.mark.parametrize("name", ["bad", "good", "crowded"])
def test_on_a_phone_nothing_collapses_and_nothing_scrolls_sideways(
    browser: Any, sheets: dict[str, Path], name: str
) -> None:
    browser.screen(390)
    browser.open(sheets[name])
    found = browser.run(PHONE)
    assert found["wide"] <= 390 and found["narrow"] == [] and found["tiny"] == 0
    stops = {"bad": looking.demo("sensor_plate", "bad").report.count("stop"), "good": 0}.get(name)
    if stops is not None:
        assert found["banner"] == (f"DO NOT RUN: {stops} STOPS" if stops else "")
        assert found["across"] == ("DO NOT RUN" if stops else "")
