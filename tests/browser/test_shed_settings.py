"""Settings in a real browser: by finger on a phone, by keyboard on a laptop, and by a screen reader's rules."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("selenium", reason="the dev extra brings selenium")

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from tests.browser.shed import Person, own_shed, served

Violations = Callable[[], list[Any]]
CUT = "/settings?machine=gantry-800w&material=al-6082-t6&cutter=flat-6mm-1f&cut="


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    with own_shed(tmp_path_factory.mktemp("shed")) as door:
        yield door


def test_a_newcomer_with_a_phone_gets_settings_by_tapping(browser: Any, door: Any) -> None:
    browser.screen(360)
    me = Person(browser, door)
    me.tap("main a", "Find settings")
    me.tap("button", "I have read this")
    me.tap(".option", "0.8 kW")
    me.type("#find-material", "6082")
    me.tap(".option", "Aluminium 6082-T6")
    me.type("#find-cutter", "6 mm one")
    me.tap(".option", "Flat, 6 mm, one flute")
    text = me.reads("governs")
    assert "13200 rpm" in text and "mm/min" in text and "Before you cut" not in text
    assert me.taps <= 6
    me.tap(".pick label", "side")
    me.reads("depth over width")
    me.tap("svg.opmap")
    me.reads("Let millcalc choose again")
    me.tap("button", "Let millcalc choose again")
    me.reads("Best changes")
    assert me.too_small() == [] and me.complaints() == []


def test_by_keyboard_alone(browser: Any, door: Any) -> None:
    browser.screen(1600)
    me = Person(browser, door)
    me.go(CUT + "side")
    me.reads("Best changes")
    active = lambda: browser.driver.switch_to.active_element  # noqa: E731
    me.driver.find_element(By.CSS_SELECTOR, '[data-chooser="cutter"] summary').send_keys(Keys.ENTER)
    me.find("#find-cutter").send_keys("flat-3mm-2f" + Keys.ARROW_DOWN)
    assert active().get_attribute("name") == "cutter"
    active().send_keys(Keys.SPACE)
    active().send_keys(Keys.ENTER)
    text = me.reads("3 mm, two flutes")
    assert "governs" in text
    slider = me.find("#s-depth")
    before = slider.get_attribute("aria-valuetext")
    slider.send_keys(Keys.HOME)
    me.until(lambda: slider.get_attribute("aria-valuetext") != before)
    assert me.find("[name=ap]").get_attribute("value") == "0.005 mm"
    assert active().get_attribute("id") == "s-depth", "the answer took the slider's place away"


def test_a_change_asks_once_and_nothing_else(browser: Any, door: Any) -> None:
    """How long it takes is measured by benchmarks/shed.py."""
    browser.screen(768)
    me = Person(browser, door)
    me.go(CUT + "side")
    me.reads("Best changes")
    browser.requests()
    before = me.find("[data-advice]").get_attribute("data-advice")
    me.tap(".pick label", "proven")
    me.until(lambda: me.find("[data-advice]").get_attribute("data-advice") != before)
    first, *later = browser.requests()
    assert first == me.base + "/settings/answer"
    assert all(url.startswith((me.base + "/settings/map/", me.base + "/settings/rest/")) for url in later)


@pytest.mark.parametrize(("width", "dark"), [(360, False), (1920, True)])
def test_screen_readers_and_gloves(
    browser: Any, door: Any, violations: Violations, width: int, dark: bool
) -> None:
    browser.screen(width, dark=dark)
    me = Person(browser, door)
    for path in ("/", "/care", "/settings", CUT + "side", CUT + "slot&ap=9", CUT + "drill"):
        me.go(path)
        me.find("main h1")
        if path.startswith(CUT):
            me.reads("Every limit")
            me.driver.execute_script("for (const d of document.querySelectorAll('details')) d.open = true")
        assert violations() == [], path
        assert me.too_small() == [], path
    name = me.find("[data-advice]").get_attribute("data-advice")
    me.go(f"/settings/sheet/{name}")
    assert violations() == [] and me.too_small() == []
    assert me.complaints() == []


def test_without_scripts_the_form_still_answers(door: Any, tmp_path: Path) -> None:
    from tests.page.doors import Visitor

    me = Visitor.__new__(Visitor)
    import httpx

    me.client = httpx.Client(base_url="http://" + next(iter(door.hosts)), follow_redirects=True)  # type: ignore[assignment]
    me.client.get(f"/enter/{door.sessions.token}")
    assert "governs" in me.client.get(CUT + "slot").text


def test_without_its_server_the_installed_page_says_so_and_shows_no_old_result(
    browser: Any, tmp_path: Path, violations: Violations
) -> None:
    browser.screen(360)
    with served(tmp_path / "jobs") as door:
        me = Person(browser, door)
        # what loads while the worker starts is not its own yet; what loads afterwards is
        installed = "return navigator.serviceWorker.getRegistration().then((one) => !!(one && one.active))"
        me.until(lambda: me.driver.execute_script(installed))
        me.go("/care")
        me.until(lambda: me.driver.execute_script("return !!navigator.serviceWorker.controller"))
        assert "Glasses" in me.find("main").text + me.find("footer").text
    me.go("/care")
    text = me.reads("millcalc is not running")
    assert "Glasses" not in text and "Start it in a terminal" in text
    assert violations() == [] and me.too_small() == []
