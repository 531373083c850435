"""The other flows in a real browser, on the sensor plate of the weather station: check, log, help, measuring."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("selenium", reason="the dev extra brings selenium")

from selenium.webdriver.common.by import By

from millcalc.job import load_job
from millcalc.tables import demo_root
from tests.browser.shed import Person, own_shed

Violations = Callable[[], list[Any]]
CUT = "machine=gantry-800w&material=al-6082-t6&cutter=flat-6mm-1f&cut=slot"
HOSTILE = '<img src=x onerror="window.hit=1"> \u202e(\x1b[2J)'


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("shed")


@pytest.fixture(scope="module")
def door(folder: Path) -> Iterator[Any]:
    with own_shed(folder) as door:
        yield door


def click_plate(me: Person, x_share: float, y_share: float) -> None:
    """Tap the plate: shares of its width from the left, of its length from the front."""
    place = me.driver.execute_script(
        """const r = document.querySelector('#plate .stock');
        document.getElementById('plate').scrollIntoView({ block: 'center' });
        const b = r.getBoundingClientRect(); return [b.left, b.top, b.width, b.height];"""
    )
    x = place[0] + x_share * place[2]
    y = place[1] + (1 - y_share) * place[3]
    for kind in ("mousePressed", "mouseReleased"):
        event = {"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1}
        me.driver.execute_cdp_cmd("Input.dispatchMouseEvent", event)
    me.taps += 1


def test_from_a_program_to_its_report_on_a_phone(
    browser: Any, door: Any, folder: Path, violations: Violations
) -> None:
    """A hostile name and comment ride along: they are shown, never obeyed."""
    program = folder / f"{'plate <b>1'}.nc"
    program.write_text(
        f"({HOSTILE})\n" + (demo_root() / "sensor_plate" / "bad.nc").read_text("utf-8"), "utf-8"
    )
    browser.screen(360)
    me = Person(browser, door)
    me.tap("main a", "Check a program")
    me.find("#program").send_keys(str(program))
    me.tap("button", "Take this program")
    me.reads("The job of", 60)
    for field, text in (("size_x", "160"), ("size_y", "110"), ("thickness", "6")):
        me.type(f"[name={field}]", text)
    me.driver.execute_script(
        """for (const [name, value] of [['machine', 'gantry-800w'], ['material', 'al-6082-t6'],
            ['tool-0-cutter', 'flat-6mm-1f']]) { document.querySelector(`[name="${name}"]`).value = value; }"""
    )
    me.type("[name=tool-0-stickout]", "22")
    click_plate(me, 0.02, 0.02)
    assert me.find("[name=zero_xy]:checked").get_attribute("value") == "front-left"
    me.tap(".pick label", "plate top")
    me.tap(".pick label", "tap: a screw")
    click_plate(me, 0.05, 1 - 8 / 110)
    me.until(lambda: len(me.driver.find_elements(By.CSS_SELECTOR, "[data-screw]")) == 1)
    assert violations() == [] and me.too_small() == []
    me.type("[name=title]", HOSTILE.replace("\x1b", "").replace("\u202e", ""))
    me.tap("button", "Save and check")
    text = me.reads("Do not run", 120)
    assert re.search(r"\d+ stops", text) and me.driver.execute_script("return window.hit") is None
    job = load_job(next((folder / "jobs").glob("plate-b-1-*")) / "job.yaml")
    assert job.zero.xy == "front-left" and job.screws is not None
    assert job.screws[0].x_mm == pytest.approx(8, abs=1) and job.screws[0].y_mm == pytest.approx(102, abs=1)
    assert violations() == [] and me.too_small() == []
    me.driver.switch_to.frame(me.find("#report"))
    me.until(lambda: me.driver.execute_script("return document.documentElement.dataset.ready") == "yes")
    assert me.driver.find_elements(By.CSS_SELECTOR, "#moment, .strip")
    assert me.driver.execute_script("return window.hit") is None
    me.driver.switch_to.default_content()
    me.tap("summary", "Quiet it with a reason")
    me.driver.find_element(By.CSS_SELECTOR, "[name=reason]").send_keys("tried on scrap")
    me.tap("button", "check again")
    me.reads("Checking")
    assert [q.reason for q in load_job(next((folder / "jobs").glob("plate-b-1-*")) / "job.yaml").quiet]
    me.tap("button", "Stop it")
    assert me.complaints() == []


def test_a_running_check_is_stopped_and_the_corrected_copy_is_taken(browser: Any, door: Any) -> None:
    browser.screen(768)
    me = Person(browser, door)
    me.go("/check")
    me.tap("button", "a good program")
    me.reads("The job of", 60)
    me.tap("button", "Save and check")
    me.tap("button", "Stop it")
    text = me.reads("stopped by you; nothing was written")
    assert "What was found" not in text and "The report" not in text
    me.tap("button", "Raised: to watch in the air")
    text = me.reads("byte for byte", 90)
    assert "Take lifted.nc" in text


def test_how_it_went_takes_five_thumbs(browser: Any, door: Any, violations: Violations) -> None:
    browser.screen(360)
    me = Person(browser, door)
    me.go(f"/settings?{CUT}")
    me.taps = 0
    me.tap("a", "I made this cut")
    assert violations() == [] and me.too_small() == []
    for word in ("good", "hum", "curls"):
        me.tap(".pick label", word)
    me.tap("button", "Log it")
    me.reads("Logged as entry")
    assert me.taps == 5
    assert violations() == []
    me.go("/log")
    me.reads("flat-6mm-1f in al-6082-t6")
    assert violations() == [] and me.too_small() == []
    me.tap("a.all")
    me.reads("Everything known of it")
    assert violations() == [] and me.too_small() == []
    me.go("/log/learnt")
    me.reads("cuts looked at")
    assert violations() == [] and me.too_small() == []


def test_what_sounds_wrong_is_answered_in_a_few_taps(browser: Any, door: Any, violations: Violations) -> None:
    browser.screen(360, dark=True)
    me = Person(browser, door)
    me.go(f"/settings?{CUT}&ap=1.5")
    me.taps = 0
    me.tap("a", "It sounds wrong")
    for word in ("squeal", "slanted"):
        assert violations() == [] and me.too_small() == []
        me.tap(".answers a", word)
    assert violations() == [] and me.too_small() == []
    me.tap("button", "Yes, what now?")
    text = me.reads("Change first")
    assert me.taps == 4 and "Never:" in text and "--" not in text
    assert violations() == [] and me.too_small() == []
    me.tap("a", "Next settings, judged")
    me.reads("depth a pass")


@pytest.mark.parametrize("width", [360, 1600])
def test_measuring_pages_read_well(browser: Any, door: Any, violations: Violations, width: int) -> None:
    browser.screen(width)
    me = Person(browser, door)
    for key in ("", "/stiffness", "/runout", "/speed", "/frequency", "/thrust", "/acceleration", "/feed"):
        me.go(f"/machine{key}?machine=gantry-800w")
        me.find("main h1")
        assert violations() == [] and me.too_small() == [], key
    me.go("/machine/thrust?machine=gantry-800w")
    me.type("[name=x]", "30 31 29")
    me.tap("button", "What does it say?")
    me.reads("stalls at")
    assert violations() == [] and me.too_small() == [] and me.complaints() == []


def test_the_browser_records_taps_as_a_file_that_the_program_reads(browser: Any, door: Any) -> None:
    """The browser's test microphone beeps and does not ring: it is read, and refused for what it is."""
    browser.screen(768)
    me = Person(browser, door)
    me.go("/machine/frequency?machine=gantry-800w")
    me.tap("button", "Record with this device")
    me.reads("recording: five taps")
    time.sleep(2.5)
    me.tap("button", "Stop")
    me.reads("recorded, ")
    me.tap(".pick label", "the frame")
    me.tap("button", "What does it say?")
    text = me.reads("the recording")
    assert "WAV, not compressed" not in text and "accepted" in text


def test_two_tabs_on_one_job_and_the_later_one_is_told(browser: Any, door: Any) -> None:
    browser.screen(1600)
    me = Person(browser, door)
    me.go("/check")
    me.tap("button", "a good program")
    me.reads("The job of", 60)
    first = me.driver.current_window_handle
    address = me.driver.current_url
    me.driver.switch_to.new_window("tab")
    me.driver.get(address)
    me.type("[name=notes]", "from the second tab")
    me.driver.execute_script("document.querySelector('.stick button[value=\"\"]').click()")
    me.until(lambda: "saved=1" in me.driver.current_url)
    me.driver.close()
    me.driver.switch_to.window(first)
    me.type("[name=notes]", "from the first tab")
    me.driver.execute_script("document.querySelector('.stick button[value=\"\"]').click()")
    text = me.reads("changed elsewhere meanwhile")
    assert "what you typed stands below" in text
    assert me.find("[name=notes]").get_attribute("value") == "from the first tab"
    time.sleep(0.1)
