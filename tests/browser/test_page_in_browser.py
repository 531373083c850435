"""The page of a check in a real browser: from disk, without the network, on small and wide screens, by keyboard."""

from __future__ import annotations

import base64
import io
import unicodedata
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from millcalc.report.page_html import report_page
from tests.helpers import looking

Pages = dict[str, Path]


@pytest.fixture(scope="module")
def pages(written: Callable[[str, str], Path], tmp_path_factory: pytest.TempPathFactory) -> Pages:
    bad, good = looking.demo("sensor_plate", "bad"), looking.demo("sensor_plate", "good")
    bare = looking.looked(tmp_path_factory.mktemp("job"), "G21 G90\nG0 Z10\nG1 X5 F100\n", None)
    empty = looking.looked(tmp_path_factory.mktemp("job"), "", None)
    return {
        name: written(f"{name}.html", report_page(found))
        for name, found in (("bad", bad), ("good", good), ("bare", bare), ("empty", empty))
    }


@pytest.mark.parametrize("name", ["bad", "good", "bare", "empty"])
def test_it_opens_from_disk_without_errors_or_requests(browser: Any, pages: Pages, name: str) -> None:
    browser.screen(1200)
    browser.open(pages[name])
    browser.ready()
    assert browser.console() == []
    asked = [url for url in browser.requests() if not url.startswith(("data:", "blob:"))]
    assert asked == [pages[name].as_uri()]


@pytest.mark.parametrize("width", [390, 900, 1600])
def test_nothing_runs_off_the_screen(browser: Any, pages: Pages, width: int) -> None:
    for name, dark in product(("bad", "bare"), (False, True)):
        browser.screen(width, dark=dark)
        if not dark:
            browser.open(pages[name])
            browser.ready()
        assert browser.run("return document.documentElement.scrollWidth") <= width
        wide = browser.run(
            """const out = (e) => e.getBoundingClientRect().right > innerWidth + 1;
            return Array.from(document.querySelectorAll('main *'))
                .filter((e) => !e.closest('.wide, #code, svg, .hide') && out(e))
                .map((e) => e.className || e.tagName)"""
        )
        assert wide == []


def test_the_scrubber_shows_the_stock_the_line_and_the_values(browser: Any, pages: Pages) -> None:
    browser.screen(1200)
    browser.open(pages["good"])
    browser.ready()
    finished = browser.run("return document.getElementById('stock').getAttribute('href')")

    def at(index: int) -> dict[str, Any]:
        found = browser.run(
            """const slider = document.getElementById('moment'); slider.value = arguments[0];
            slider.dispatchEvent(new Event('input', { bubbles: true }));
            return { text: document.getElementById('now').textContent,
                picture: document.getElementById('stock').getAttribute('href'),
                tool: document.getElementById('tool').getAttribute('visibility'),
                value: document.querySelector('.strip[data-key=feed] output').textContent,
                here: (document.querySelector('#code .here') || { dataset: {} }).dataset.line }""",
            index,
        )
        assert isinstance(found, dict)
        return found

    begin, middle, end = at(0), at(1500), at(2999)
    assert begin["text"].startswith("0:00 of 29:06")
    assert middle["tool"] == "visible" and "390" in middle["value"]
    assert f"line {middle['here']} " in middle["text"], "the program text stands at the same line"
    assert end["picture"] == finished and end["tool"] == "hidden"
    uncut, half, whole = (_through(url) for url in (begin["picture"], middle["picture"], at(2998)["picture"]))
    assert uncut == 0.0 < half < whole
    assert whole == pytest.approx(_through(finished), rel=0.1), "7 s before the end, a little is missing"
    assert _through(at(1500)["picture"]) == half, "going back gives the same stock"


def _through(url: str) -> float:
    """Share of a picture that is cut through, which is transparent."""
    from matplotlib.image import imread

    image = imread(io.BytesIO(base64.b64decode(url.split(",", 1)[1])))
    return float(np.mean(image[..., 3] < 0.5))


def test_a_finding_leads_to_picture_strip_and_text(browser: Any, pages: Pages) -> None:
    browser.screen(1600)
    browser.open(pages["bad"])
    browser.ready()
    report = looking.demo("sensor_plate", "bad").report
    number, finding = next((i, f) for i, f in enumerate(report.findings, 1) if f.code == "FEED-04")
    found = browser.run(
        """document.querySelector('#finding-' + arguments[0] + ' button.show').click();
        return { mark: document.querySelector('.pin.chosen').dataset.numbers.split(' '),
            row: document.querySelector('#code .here').textContent,
            underlined: document.querySelector('#code .here mark').textContent,
            cursor: document.querySelector('.strip .cursor').getAttribute('visibility'),
            now: document.getElementById('now').textContent }""",
        number,
    )
    assert str(number) in found["mark"]
    assert (
        found["row"].startswith(str(finding.line)) and "F40" in found["row"] and found["underlined"] == "F40"
    )
    assert found["cursor"] == "visible" and f"line {finding.line} " in found["now"]
    chosen = browser.run(
        """document.getElementById('zoom-all').click();
        document.querySelector('.pin[data-first="2"]').click();
        return document.querySelector('.finding.chosen').id"""
    )
    assert chosen == "finding-2", "and a sign in the picture leads to its finding"


def test_the_flags_below_the_strips_choose_findings(browser: Any, pages: Pages) -> None:
    browser.screen(900)
    browser.open(pages["bad"])
    browser.ready()
    names = browser.run(
        "return Array.from(document.querySelectorAll('#flags button')).map((b) => b.textContent)"
    )
    assert names and all(name[0] in "■▲●" for name in names), "shape and number, not colour"
    chosen = browser.run(
        """document.querySelector('#flags button').click();
        return document.querySelector('.finding.chosen').dataset.number"""
    )
    assert names[0][1:].startswith(chosen)


def test_keys_enlarge_and_move_the_picture(browser: Any, pages: Pages) -> None:
    from selenium.webdriver.common.keys import Keys

    browser.screen(1200)
    browser.open(pages["bad"])
    browser.ready()
    frame = browser.driver.find_element("id", "top-frame")
    box = "return document.getElementById('top').getAttribute('viewBox').split(' ').map(Number)"
    home = browser.run(box)
    browser.run("document.getElementById('top-frame').focus()")
    frame.send_keys("+")
    near = browser.run(box)
    assert near[2] == pytest.approx(home[2] / 1.6, rel=1e-3)
    sign = browser.run("return document.querySelector('#ticks .name').getBoundingClientRect().height")
    frame.send_keys(Keys.ARROW_LEFT)
    assert browser.run(box)[0] < near[0]
    frame.send_keys("0")
    assert browser.run(box) == pytest.approx(home, abs=0.01)
    again = browser.run("return document.querySelector('#ticks .name').getBoundingClientRect().height")
    assert again == pytest.approx(sign, rel=0.05), "texts keep their size"


def test_everything_is_reached_by_the_tab_key(browser: Any, pages: Pages) -> None:
    browser.screen(1200)
    browser.open(pages["bad"])
    browser.ready()
    unreachable = browser.run(
        """return Array.from(document.querySelectorAll('button, input, a[href], summary, [tabindex="0"]'))
            .filter((e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length)
            .filter((e) => { e.focus(); return document.activeElement !== e; })
            .map((e) => e.outerHTML.slice(0, 80))"""
    )
    assert unreachable == []


HOSTILE = "<script>document.title='owned'</script> <img src=x onerror=alert(1)> &lt; \"&lt; </script>"


def test_a_hostile_comment_is_shown_letter_by_letter(
    browser: Any, written: Callable[[str, str], Path], tmp_path: Path
) -> None:
    comment = HOSTILE.replace("(", "[").replace(")", "]")
    text = looking.SLOTS.replace("(Weather station: two slots in the mast bracket)", f"({comment})")
    name = HOSTILE.replace("/", "")  # a name has no slash; with one, only its last part is shown
    found = looking.looked(tmp_path, text, name=f"some/folder/{name}")
    browser.screen(900)
    browser.open(written("hostile.html", report_page(found)))
    browser.ready()
    assert browser.console() == []
    assert browser.run("return document.querySelector('#code .row').textContent") == f"1({comment})"
    assert browser.run("return document.querySelector('h1').textContent") == name
    assert browser.run("return document.querySelectorAll('img, script').length") == 2
    assert browser.run("return document.title") != "owned"


def test_a_long_text_keeps_few_rows_and_finds_any_line(
    browser: Any, written: Callable[[str, str], Path], tmp_path: Path
) -> None:
    body = "\n".join(f"G1 X{15 + 30 * (i % 2)}" for i in range(3000))
    text = looking.SLOTS.replace("G1 X15 F390\nG0 Z10\nM5", f"G1 X15 F390\n{body}\nG0 Z10\nM5")
    found = looking.looked(tmp_path, text, None)
    browser.screen(1200)
    browser.open(written("long.html", report_page(found)))
    browser.ready()
    shown = browser.run(
        """const line = document.getElementById('line'); line.value = 2777;
        line.dispatchEvent(new Event('change', { bubbles: true }));
        return [document.querySelectorAll('#code .row').length, document.querySelector('#code .here').textContent]"""
    )
    assert shown[0] < 120
    assert shown[1] == "2777" + found.ctx.program.line_text(2777)


@pytest.mark.parametrize(
    ("name", "dark", "width"),
    [
        ("bad", False, 390),
        ("bad", True, 768),
        ("bad", True, 1600),
        ("good", False, 1600),
        ("empty", False, 390),
    ],
)
def test_accessibility_rules_hold(
    browser: Any, violations: Callable[[], list[Any]], pages: Pages, name: str, dark: bool, width: int
) -> None:
    browser.screen(width, dark=dark)
    browser.open(pages[name])
    browser.ready()
    assert violations() == []


def test_it_prints_with_every_finding(browser: Any, pages: Pages) -> None:
    pypdf = pytest.importorskip("pypdf", reason="the dev extra brings pypdf")
    browser.screen(1200)
    browser.open(pages["bad"])
    browser.ready()
    pdf = pypdf.PdfReader(io.BytesIO(browser.pdf(8.27, 11.69)))
    text = " ".join(page.extract_text() for page in pdf.pages)
    report = looking.demo("sensor_plate", "bad").report
    assert 3 <= len(pdf.pages) <= 12
    assert all(finding.code in text for finding in report.findings)
    letters = unicodedata.normalize("NFKC", "".join(text.split()))  # fonts join letters: fi, ff
    assert all("".join(caution.split()) in letters for caution in report.cautions), (
        "what is folded is unfolded"
    )
