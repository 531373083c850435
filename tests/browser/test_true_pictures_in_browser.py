"""The pictures show the fault where it is: read from the page through the drawing's own transform, at three widths."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from millcalc.report.page_html import report_page
from tests.helpers import looking

WIDTHS = (390, 768, 1600)
WITHIN_MM = 0.5
READ = """
const top = document.getElementById('top'), back = top.getScreenCTM().inverse();
const mm = (x, y) => { const p = new DOMPoint(x, y).matrixTransform(back); return [p.x, -p.y]; };
const origin = (e) => { const m = e.getScreenCTM(); return mm(m.e, m.f); };
const plane = document.getElementById('plane').getBBox(), side = document.getElementById('side-tool').getBBox();
const shown = (e) => e.getAttribute('visibility') !== 'hidden';
const place = document.getElementById('place'), tool = document.getElementById('tool');
return { place: shown(place) ? origin(place) : null, tool: shown(tool) ? origin(tool) : null, plane: -plane.y,
    side_x: side.x + side.width / 2, now: document.getElementById('now').textContent,
    panel: document.getElementById('panel-body').textContent,
    here: (document.querySelector('#code .here') || { dataset: {} }).dataset.line,
    spots: Array.from(document.querySelectorAll('#leaders .spot')).map((c) => {
        const m = c.getScreenCTM(), p = new DOMPoint(c.cx.baseVal.value, c.cy.baseVal.value).matrixTransform(m);
        return mm(p.x, p.y); }) };
"""


SIGNS = """
const rect = (e) => e.getBoundingClientRect(), every = (q) => Array.from(document.querySelectorAll(q));
const frame = rect(document.getElementById('top-frame')), pins = every('.pin').map(rect);
const shared = (a, b) => {
    const w = Math.min(a.right, b.right) - Math.max(a.left, b.left);
    const h = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    return w > 0 && h > 0 ? w * h / Math.min(a.width * a.height, b.width * b.height) : 0; };
const holds = (p, x, y) => x > p.left && x < p.right && y > p.top && y < p.bottom;
const within = (a) => a.left >= frame.left - 1 && a.right <= frame.right + 1 && a.top >= frame.top - 1 &&
    a.bottom <= frame.bottom + 1;
const skipped = '.hide, [aria-hidden=true], #layers:not([open])';
const visible = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length &&
    !e.closest(skipped);
const targets = every('button, select, summary, input:not([type=range])').filter(visible).map((e) => {
    const r = rect(e.type === 'checkbox' ? e.closest('label') : e);
    return [e.id || e.className || e.textContent, r.width, r.height]; });
const wordy = (e) => Array.from(e.childNodes).some((n) => n.nodeType === 3 && n.textContent.trim());
const letters = every('body *').filter((e) => visible(e) && wordy(e)).map((e) => [e.textContent.slice(0, 30),
    parseFloat(getComputedStyle(e).fontSize) * (e.ownerSVGElement ? Math.abs(e.getScreenCTM().d) : 1)]);
const spots = every('#leaders .spot').map(rect);
return { pins: pins.length, out: pins.filter((a) => !within(a)).length, small: targets,
    worst: Math.max(0, ...pins.flatMap((a, i) => pins.slice(i + 1).map((b) => shared(a, b)))),
    covered: spots.filter((s) => pins.some((p) => holds(p, s.left + s.width / 2, s.top + s.height / 2))).length,
    tiny: letters.filter((p) => p[1] < 10.9).slice(0, 5), wide: document.documentElement.scrollWidth,
    overlap: every('.tools button').map(rect).some((r) => r.top < frame.bottom - 1 && r.bottom > frame.top) };
"""


@pytest.fixture(scope="module")
def page(written: Callable[[str, str], Path]) -> Path:
    found = looking.demo("sensor_plate", "bad")
    return written("bad.html", report_page(found))


def _open(browser: Any, page: Path, width: int, *, dark: bool = False) -> None:
    browser.screen(width, dark=dark)
    browser.touch(width < 500)
    browser.open(page)
    browser.ready()


def _near(one: list[float], x: float, y: float) -> bool:
    return abs(one[0] - x) <= WITHIN_MM and abs(one[1] - y) <= WITHIN_MM


@pytest.mark.parametrize("width", WIDTHS)
def test_mark_section_cutter_and_text_stand_at_the_findings_place(
    browser: Any, page: Path, width: int
) -> None:
    _open(browser, page, width, dark=width == 768)
    report = looking.demo("sensor_plate", "bad").report
    seen = 0
    for number, finding in enumerate(report.findings, 1):
        if finding.place_mm is None or finding.at is None or finding.at.tip_mm is None:
            continue
        browser.run("document.querySelector('#finding-' + arguments[0] + ' button.show').click()", number)
        found = browser.run(READ)
        place, at = finding.place_mm, finding.at.tip_mm
        assert _near(found["place"], place.x, place.y), (finding.code, found)
        assert any(_near(spot, place.x, place.y) for spot in found["spots"]), finding.code
        assert _near(found["tool"], at.x, at.y), (finding.code, found)
        assert abs(found["plane"] - min(max(place.y, 0), 110)) <= WITHIN_MM, finding.code
        if finding.tool != 7:  # no cutter in the job, so none is drawn
            assert abs(found["side_x"] - at.x) <= WITHIN_MM, finding.code
        assert re.search(rf"Z {at.z:.2f}\b".replace("-0.00", "-?0.00"), found["now"]), (
            finding.code,
            found["now"],
        )
        assert f"line {finding.line} " in found["now"] and found["here"] == str(finding.line)
        seen += 1
    assert seen >= 12


def test_a_freed_piece_is_shown_at_the_moment_it_comes_free(browser: Any, page: Path) -> None:
    """From X143 to X17 along Y12 the outline closes where the cutter's edge meets the slot it began with."""
    report = looking.demo("sensor_plate", "bad").report
    loose = next(finding for finding in report.findings if finding.code == "LOOSE-01")
    assert loose.at is not None and loose.at.tip_mm is not None and loose.at.time_s is not None
    assert 0.9 < loose.at.share < 1.0 and loose.at.tip_mm.x == pytest.approx(17 + 6, abs=0.5)
    watched = next(entry for entry in report.times.watch if entry.what == "a piece comes free")
    assert watched.from_s == pytest.approx(loose.at.time_s, abs=0.06)
    assert "120 mm by 80 mm, give or take 0.2 mm" in loose.fact


def test_a_rapid_is_marked_where_it_first_meets_material(browser: Any, page: Path) -> None:
    """The slot it begins in was cut by the same cutter: its edge stands at the wall from the start."""
    report = looking.demo("sensor_plate", "bad").report
    rapid = next(finding for finding in report.findings if finding.code == "RAPID-01")
    assert rapid.place_mm is not None and rapid.at is not None
    assert rapid.place_mm.x < 65 and rapid.at.share < 0.1, "the end, 36 mm farther, is not where it happens"


@pytest.mark.parametrize("width", WIDTHS)
def test_the_scale_bar_is_as_long_as_it_says_enlarged_or_not(browser: Any, page: Path, width: int) -> None:
    _open(browser, page, width)
    measure = """const line = document.getElementById('bar-line'), box = line.getBoundingClientRect();
        const m = document.getElementById('top').getScreenCTM(), frame = document.getElementById('top-frame');
        const ticks = Array.from(document.querySelectorAll('#ticks .fixed')).map((g) => [Number(g.dataset.x),
            Number(g.dataset.y), g.textContent]);
        return { mm: line.getBBox().width * m.a / m.a, px: line.getScreenCTM().a * line.getBBox().width / m.a,
            text: document.querySelector('#bar text').textContent,
            inside: box.right <= frame.getBoundingClientRect().right,
            ticks: ticks }"""
    for _ in range(3):
        found = browser.run(measure)
        assert found["px"] == pytest.approx(float(found["text"].split()[0]), rel=0.01) and found["inside"]
        on_x = [
            (x, t)
            for x, _, t in found["ticks"]
            if not t.startswith("Y") and abs(float(t.split()[-1]) - x) < 1e-3
        ]
        assert len(on_x) >= 2, "coordinates at the frame"
        browser.run("document.getElementById('zoom-in').click()")


@pytest.mark.parametrize("width", WIDTHS)
def test_signs_texts_and_targets(browser: Any, page: Path, width: int) -> None:
    _open(browser, page, width)
    least = 44 if width < 500 else 24
    for dark in (False, True):
        browser.screen(width, dark=dark)
        found = browser.run(SIGNS)
        assert found["pins"] >= 4 and found["worst"] <= 0.25, found
        assert found["out"] == 0 and found["covered"] == 0, found
        assert [entry for entry in found["small"] if entry[2] < least - 0.5 or entry[1] < least - 0.5] == []
        assert found["tiny"] == [] and found["wide"] <= width and not found["overlap"]


def test_a_phone_gets_verdict_place_and_remedy_on_its_first_screen(browser: Any, page: Path) -> None:
    _open(browser, page, 390)
    boxes = browser.run(
        """const box = (q) => { const r = document.querySelector(q).getBoundingClientRect();
            return [r.top, r.bottom]; };
        return { banner: box('#banner'), place: box('#place'), remedy: box('#panel-body .do'), panel: box('#panel'),
            text: document.getElementById('banner').textContent }"""
    )
    assert "Do not run: 8 stops" in boxes["text"]
    for name in ("banner", "place", "remedy"):
        assert boxes[name][0] >= 0 and boxes[name][1] <= 844, (name, boxes[name])
    assert boxes["place"][1] < boxes["panel"][0], "the place is not under the panel"


def test_start_shows_one_moment_the_first_stops(browser: Any, page: Path) -> None:
    _open(browser, page, 1600)
    first = looking.demo("sensor_plate", "bad").report.findings[0]
    found = browser.run(READ)
    assert first.place_mm is not None and f"line {first.line} " in found["now"]
    assert _near(found["tool"], first.place_mm.x, first.place_mm.y)
    assert found["plane"] == pytest.approx(first.place_mm.y, abs=WITHIN_MM)


def test_tapping_a_finding_keeps_the_picture_and_back_goes_back(browser: Any, page: Path) -> None:
    _open(browser, page, 390)
    state = """const frame = document.getElementById('top-frame').getBoundingClientRect();
        const view = document.getElementById('top').viewBox.baseVal.width;
        return { top: frame.top, bottom: frame.bottom, view: view, y: scrollY,
            chosen: document.querySelector('.finding.chosen').dataset.number,
            panel: document.getElementById('panel-body').textContent }"""
    home = browser.run(state)["view"]
    number = browser.run(
        """return [...document.querySelectorAll('.finding')].find((one) =>
            one.textContent.includes('at F 40 mm/min')).dataset.number"""
    )
    browser.run(f"document.getElementById('finding-{number}').scrollIntoView({{ block: 'center' }})")
    browser.run(f"document.querySelector('#finding-{number} .fact').click()")
    found = browser.run(state)
    assert found["y"] > 500 and found["top"] >= -1 and found["bottom"] <= 844, "sticky"
    assert found["view"] < home / 2 and found["chosen"] == number and "F 40 mm/min" in found["panel"]
    assert "F40" in found["panel"], "the program's line is in the panel"
    browser.run("document.getElementById('next').click()")
    assert browser.run(state)["chosen"] != number
    browser.driver.back()
    assert browser.run(state)["chosen"] == number
    browser.run("document.querySelector('#finding-28 button.show').click()")
    found = browser.run(READ)
    assert found["place"] is None and found["tool"] is None and "belongs to no moment" in found["panel"]


def test_the_section_draws_true_chords_and_ghosts_what_is_behind(browser: Any, page: Path) -> None:
    _open(browser, page, 1600)
    screws = looking.demo("sensor_plate", "bad").ctx.setup.screws
    holds = """return Array.from(document.querySelectorAll('#side-holds rect')).map((r) => [r.dataset.hold || '',
        r.getAttribute('class'), Number(r.getAttribute('width'))])"""
    browser.run("document.querySelector('#finding-1 button.show').click()")  # X8 Y8, through a screw's middle
    met = {name: width for name, kind, width in browser.run(holds) if "met" in kind}
    front = [s for s in screws if abs(s.y_mm - 8) < s.head_radius_mm]
    assert {s.name for s in front} == set(met) and len(front) >= 1
    assert all(met[s.name] == pytest.approx(2 * s.head_radius_mm, abs=0.1) for s in front)
    browser.run("document.querySelector('#finding-3 button.show').click()")  # Y55: no screw stands there
    kinds = browser.run(holds)
    assert kinds and all(kind == "ghost" for _, kind, _ in kinds)
    assert {name for name, _, _ in kinds} == {s.name for s in screws if s.y_mm > 60}


def test_lines_jump_to_their_place_and_say_when_they_have_none(browser: Any, page: Path) -> None:
    _open(browser, page, 1600)
    ask = """const line = document.getElementById('line'); line.value = arguments[0];
        line.dispatchEvent(new Event('change', { bubbles: true }));
        return [document.getElementById('line-note').textContent, document.getElementById('now').textContent]"""
    note, now = browser.run(ask, 38)
    assert note == "" and "line 38 " in now
    note, now = browser.run(ask, 900)
    assert note == "There is no line 900: the program has 55 lines."
    note, _ = browser.run(ask, 1)
    assert note.startswith("Line 1 moves nothing; the picture shows line ")


def test_strips_drag_hover_and_open_all_findings_of_a_flag(browser: Any, page: Path) -> None:
    _open(browser, page, 1600)
    found = browser.run(
        """const svg = document.querySelector('.strip svg'), box = svg.getBoundingClientRect();
        const send = (kind, share) => svg.dispatchEvent(new PointerEvent(kind, { bubbles: true, pointerId: 1,
            pointerType: 'mouse', clientX: box.left + share * box.width, clientY: box.top + 20 }));
        svg.setPointerCapture = () => {};
        send('pointermove', 0.4);
        const tip = document.getElementById('tip'), hover = tip.hidden ? '' : tip.textContent;
        const before = document.getElementById('now').textContent;
        send('pointerdown', 0.2); const down = document.getElementById('now').textContent;
        send('pointermove', 0.6); const dragged = document.getElementById('now').textContent; send('pointerup', 0.6);
        document.querySelector('#flags button').click();
        return { hover: hover, before: before, down: down, dragged: dragged,
            flag: document.querySelector('#flags button').getAttribute('aria-label'),
            panel: document.getElementById('panel-body').textContent }"""
    )
    assert all(word in found["hover"] for word in ("X ", "Y ", "depth ", "force ", "line "))
    assert len({found["before"], found["down"], found["dragged"]}) == 3
    others = re.findall(r"\d+", found["flag"].split("finding")[1])[1:]
    assert others and all(number in found["panel"].split("Also here:")[1] for number in others)


def test_what_can_stop_has_a_strip_with_its_limit_in_the_findings_order(browser: Any, page: Path) -> None:
    _open(browser, page, 768)
    strips = browser.run(
        """return Array.from(document.querySelectorAll('.strip')).map((s) => [s.dataset.key,
        s.querySelector('figcaption').textContent, s.querySelectorAll('.scale-label').length,
        s.querySelectorAll('.overrun').length])"""
    )
    keys = [key for key, *_ in strips]
    assert {"hold", "deflection", "speed", "depth", "force"} <= set(keys)
    assert keys.index("speed") < keys.index("depth") < keys.index("hold") < keys.index("force")
    told = {key: text for key, text, *_ in strips}
    assert re.search(r"uses \d+ % of its limit at most, over it in", told["hold"])
    assert all(labels >= 2 for _, _, labels, _ in strips)
    assert all(over for key, _, _, over in strips if key in ("hold", "deflection", "speed"))


PIXELS = """const canvas = document.getElementById('solid'), gl = canvas.getContext('webgl2');
const w = canvas.width, h = canvas.height;
const pixels = new Uint8Array(4 * w * h), colours = new Map();
gl.readPixels(0, 0, w, h, gl.RGBA, gl.UNSIGNED_BYTE, pixels);
let shown = 0, brown = 0;
for (let i = 0; i < pixels.length; i += 4) if (pixels[i + 3]) {
    shown += 1;
    if (pixels[i] > 1.5 * pixels[i + 2]) brown += 1;
}
const spot = document.getElementById('solid-place').getBoundingClientRect(), box = canvas.getBoundingClientRect();
return { share: shown / (w * h), brown: brown / Math.max(1, shown), spot: [spot.left + spot.width / 2 - box.left,
    spot.top + spot.height / 2 - box.top], error: gl.getError(), size: [box.width, box.height] }"""


def test_the_relief_shows_the_plate_turns_and_marks_the_place(browser: Any, page: Path) -> None:
    _open(browser, page, 768)
    if browser.run("return document.getElementById('relief').hidden"):
        pytest.skip("this browser draws no WebGL")
    browser.run("document.getElementById('zoom-all').click(); document.getElementById('relief').open = true")
    browser.driver.execute_async_script("requestAnimationFrame(() => requestAnimationFrame(arguments[0]))")
    first = browser.run(PIXELS)
    assert first["error"] == 0 and 0.1 < first["share"] < 0.9 and first["brown"] < 0.05, (
        "nothing is cut through yet"
    )
    assert 0 < first["spot"][0] < first["size"][0] and 0 < first["spot"][1] < first["size"][1]
    turn = """const canvas = document.getElementById('solid'), press = { key: arguments[0], bubbles: true };
        for (let i = 0; i < 6; i += 1) canvas.dispatchEvent(new KeyboardEvent('keydown', press))"""
    browser.run(turn, "ArrowLeft")
    turned = browser.run(PIXELS)
    assert abs(turned["spot"][0] - first["spot"][0]) + abs(turned["spot"][1] - first["spot"][1]) > 20
    browser.run(
        "document.querySelector('#finding-3 button.show').click()"
    )  # the outline is through to the board
    assert browser.run(PIXELS)["brown"] > 0.02


@pytest.mark.parametrize("width", [390, 1600])
def test_the_paper_has_a_true_scale_from_every_device(browser: Any, page: Path, width: int) -> None:
    _open(browser, page, width)
    browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    browser.run("window.dispatchEvent(new Event('beforeprint'))")
    found = browser.run(
        """const box = document.getElementById('bar-line').getBoundingClientRect();
        const swatch = getComputedStyle(document.querySelector('.key .swatch, .key .way'));
        return { px: box.width, bar: document.querySelector('#bar text').textContent, text: document.body.innerText,
            swatch: swatch.printColorAdjust, around: getComputedStyle(document.querySelector('.around')).display }"""
    )
    browser.run("window.dispatchEvent(new Event('afterprint'))")
    browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    scale = re.search(r"On paper the drawing is at 1 : ([\d.]+)", found["text"])
    assert scale, "the scale is written beside it"
    on_paper = found["px"] / 96 * 25.4
    assert on_paper * float(scale[1]) == pytest.approx(float(found["bar"].split()[0]), rel=0.01)
    assert found["swatch"] == "exact" and found["around"] == "block"


def test_every_printed_page_carries_something_and_the_first_stands_alone(browser: Any, page: Path) -> None:
    pypdf = pytest.importorskip("pypdf", reason="the dev extra brings pypdf")
    _open(browser, page, 390)
    pdf = pypdf.PdfReader(io.BytesIO(browser.pdf(8.27, 11.69)))
    texts = [sheet.extract_text() for sheet in pdf.pages]
    assert all(len(text.splitlines()) > 6 for text in texts)
    for words in ("Do not run: 8 stops", "Cut through along X", "First of all", "Be there at", "Mind:"):
        assert words in texts[0], words


def test_a_long_program_keeps_its_findings_exact_and_says_what_it_does_not_know(
    browser: Any, written: Callable[[str, str], Path], tmp_path: Path
) -> None:
    body = [f"G1 X{15 + 30 * (i % 2)} Y{12 + 0.001 * i:.3f}" for i in range(15_000)]
    body[11_111] = "G1 X22.2 Y23.1 F39000"
    body[11_112] += " F390"
    text = looking.SLOTS.replace("G1 X15 F390\nG0 Z10\nM5", "\n".join(body) + "\nG0 Z10\nM5")
    found = looking.looked(tmp_path, text)
    report = found.report
    browser.screen(1600)
    browser.touch(False)
    browser.open(written("long.html", report_page(found)))
    browser.ready()
    seen = 0
    for number, finding in enumerate(report.findings, 1):
        if finding.place_mm is None or finding.at is None or finding.at.tip_mm is None:
            continue
        browser.run("document.querySelector('#finding-' + arguments[0] + ' button.show').click()", number)
        shown = browser.run(READ)
        assert _near(shown["tool"], finding.at.tip_mm.x, finding.at.tip_mm.y), finding.code
        assert f"line {finding.line} " in shown["now"] and shown["here"] == str(finding.line)
        seen += 1
    assert seen >= 3
    ask = """const line = document.getElementById('line'), notes = [];
        const text = (id) => document.getElementById(id).textContent;
        for (let i = 5000; i < 5010; i += 1) {
            line.value = i;
            line.dispatchEvent(new Event('change', { bubbles: true }));
            notes.push([text('line-note'), text('now')]);
        }
        return notes"""
    notes = browser.run(ask)
    unknown = [note for note, _ in notes if note.startswith("The picture knows no moment of line")]
    assert unknown, "fewer places than lines"
    for line, (_, now) in enumerate(notes, 5000):
        assert abs(int(re.search(r"line (\d+) ", now)[1]) - line) <= 3, "the nearest it knows"


def test_in_the_dark_every_way_is_told_from_stock_and_paper(browser: Any, page: Path) -> None:
    """WCAG 2.1, 1.4.11: graphical objects stand off by 3 to 1."""
    _open(browser, page, 768)
    for dark in (False, True):
        browser.screen(768, dark=dark)
        found = browser.run(
            """const style = (q) => getComputedStyle(document.querySelector(q));
            const rgb = (c) => c.match(/[\\d.]+/g).map(Number);
            const dim = Number((style('#stock').filter.match(/[\\d.]+/) || ['1'])[0]);
            return { ways: ['cut', 'air', 'rapid'].map((k) => rgb(style('.way.' + k).stroke)),
                halo: style('#top .name').stroke,
                stock: [233, 230, 222].map((v) => v * dim), card: rgb(style('#top-frame').backgroundColor) }"""
        )
        for way in found["ways"]:
            assert _contrast(way, found["stock"]) >= 3, (dark, way)
            assert _contrast(way, found["card"]) >= 3, (dark, way)
        assert not dark or "0)" in found["halo"] or found["halo"] == "none"


def _contrast(one: list[float], other: list[float]) -> float:
    """Contrast ratio, WCAG 2.1 definitions of contrast ratio and relative luminance."""

    def luminance(rgb: list[float]) -> float:
        parts = [v / 255 for v in rgb[:3]]
        linear = [v / 12.92 if v <= 0.03928 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)
