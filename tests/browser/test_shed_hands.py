"""Every flow from its first page to its end, by real touches and by the keyboard alone, on the sensor plate."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

pytest.importorskip("selenium", reason="the dev extra brings selenium")

from selenium.webdriver.common.keys import Keys

from millcalc.job import load_job
from tests.browser.shed import Person, own_shed

Violations = Callable[[], list[Any]]
HANDS = [("touch", 360), ("touch", 768), ("keys", 1600)]
CUT = "machine=gantry-800w&material=al-6082-t6&cutter=flat-6mm-1f&cut=side"
MOST_TABS = 150


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    with own_shed(tmp_path_factory.mktemp("shed")) as door:
        yield door


class Hand(Person):
    """Somebody who only touches the glass, or who only has the keyboard."""

    def __init__(self, browser: Any, door: Any, way: str, width: int) -> None:
        browser.screen(width)
        self.way = way
        super().__init__(browser, door)
        self._touching(way == "touch")

    def _touching(self, on: bool) -> None:
        more = {"maxTouchPoints": 1} if on else {}
        self.driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": on, **more})

    def close(self) -> None:
        self._touching(False)

    def touch_at(self, x: float, y: float, to: tuple[float, float] | None = None) -> None:
        """A finger put down, moved where that is asked for, and lifted."""
        events: list[tuple[str, list[dict[str, float]]]] = [("touchStart", [{"x": x, "y": y}])]
        if to is not None:
            events += [
                ("touchMove", [{"x": x + (to[0] - x) * k / 4, "y": y + (to[1] - y) * k / 4}])
                for k in range(1, 5)
            ]
        for kind, points in [*events, ("touchEnd", [])]:
            self.driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        self.taps += 1

    def press(self, key: str, times: int = 1) -> None:
        """A key, at whatever has the focus."""
        from selenium.webdriver.common.action_chains import ActionChains

        ActionChains(self.driver).send_keys(*[key] * times).perform()

    def centre(self, css: str, text: str = "") -> tuple[float, float]:
        """Where the first shown element is that fits and has the text."""
        found = self.until(
            lambda: self.driver.execute_script(
                """const e = [...document.querySelectorAll(arguments[0])].find((one) =>
                    one.textContent.includes(arguments[1]) && one.getClientRects().length);
                if (!e) { return null; }
                e.scrollIntoView({ block: 'center' });
                const b = e.getBoundingClientRect();
                return [b.left + b.width / 2, b.top + b.height / 2];""",
                css,
                text,
            )
        )
        return float(found[0]), float(found[1])

    def reach(self, css: str, text: str = "") -> None:
        """Tab until the focus stands on what fits, and has the text in itself or its label."""
        seen = ""
        for _ in range(MOST_TABS):
            fits, seen = self.driver.execute_script(
                """const e = document.activeElement, label = e.closest('label') || e;
                return [e.matches(arguments[0]) && label.textContent.includes(arguments[1]),
                        e.outerHTML.slice(0, 80)];""",
                css,
                text,
            )
            if fits:
                return
            self.press(Keys.TAB)
        raise AssertionError(f"{MOST_TABS} tabs do not reach {css} {text!r}; the last was {seen}")

    def do(self, css: str, text: str = "") -> None:
        """Press a button or follow a link."""
        if self.way == "touch":
            self.touch_at(*self.centre(css, text))
            return
        self.until(lambda: self.driver.find_elements("css selector", css))
        self.reach(css, text)
        self.press(Keys.ENTER)

    def choose(self, name: str, value: str) -> None:
        """One of a row of choices: a touch, or tab to the row and walk with the arrows."""
        if self.way == "touch":
            css = f'label:has([name="{name}"][value="{value}"])'
            self.touch_at(*self.centre(css))
        else:
            self.until(lambda: self.driver.find_elements("css selector", f'[name="{name}"]'))
            self.reach(f'[name="{name}"]')
            if self._checked(name) is None:
                self.press(Keys.SPACE)
            for _ in range(12):
                if self._checked(name) == value:
                    break
                self.press(Keys.ARROW_RIGHT)
        self.until(lambda: self._checked(name) == value)

    def _checked(self, name: str) -> Any:
        return self.driver.execute_script(
            "const e = document.querySelector(`[name='${arguments[0]}']:checked`); return e && e.value", name
        )

    def write(self, css: str, text: str) -> None:
        """Put text into a field, over what stands there."""
        if self.way == "touch":
            self.touch_at(*self.centre(css))
            self.until(
                lambda: self.driver.execute_script("return document.activeElement.matches(arguments[0])", css)
            )
        else:
            self.until(lambda: self.driver.find_elements("css selector", css))
            self.reach(css)
        self.driver.execute_script("document.activeElement.select()")
        self.driver.execute_cdp_cmd("Input.insertText", {"text": text})


@pytest.fixture(params=HANDS, ids=lambda one: f"{one[0]}-{one[1]}")
def hand(browser: Any, door: Any, request: Any) -> Iterator[Hand]:
    made = Hand(browser, door, *request.param)
    yield made
    made.close()


def test_settings(hand: Hand, violations: Violations) -> None:
    hand.go("/")
    hand.do("main a", "Find settings")
    hand.until(lambda: hand.driver.find_elements("css selector", "#cut"))
    hand.go(f"/settings?{CUT}")
    hand.reads("governs")
    hand.choose("proven", "1")
    hand.reads("every limit", 30)
    before = hand.find("#s-depth").get_attribute("aria-valuetext")
    if hand.way == "touch":
        x, y = hand.centre("svg.opmap")
        hand.touch_at(x, y + 20)
    else:
        hand.reach("#s-depth")
        hand.press(Keys.ARROW_LEFT, 200)
    hand.until(lambda: hand.find("#s-depth").get_attribute("aria-valuetext") != before)
    assert hand.find("[name=ap]").get_attribute("value").endswith("mm")
    hand.do("#let")
    hand.until(lambda: hand.find("[name=ap]").get_attribute("value") == "")
    hand.reads("Best changes")
    assert violations() == [] and hand.too_small() == [] and hand.complaints() == []


def screw_x(hand: Hand) -> float:
    """Where the last screw stands along X, as its field says it."""
    last = hand.driver.find_elements("css selector", "[data-screw] [data-x]")[-1]
    return float(last.get_attribute("value"))


def test_check(hand: Hand, door: Any, violations: Violations) -> None:
    """A screw is put on the plate and moved: by finger on the drawing, or by arrow keys on its mark."""
    hand.go("/check")
    hand.do("button", "a good program")
    hand.reads("The job of", 60)
    count = len(hand.driver.find_elements("css selector", "[data-screw]"))
    if hand.way == "touch":
        hand.choose("tap", "screw")
        x, y = hand.centre("#plate .stock")
        hand.touch_at(x + 20, y)
        hand.until(lambda: len(hand.driver.find_elements("css selector", "#plate .screw")) == count + 1)
        time.sleep(0.4)  # two touches in the same place would be a double tap
        placed = screw_x(hand)
        x, y = hand.centre(f"#plate [aria-label^='S{count + 1}:'] .grip")
        hand.touch_at(x, y, (x + 15, y))
        hand.until(lambda: screw_x(hand) > placed)
    else:
        hand.do("#add-screw")
        mark = f"#plate [aria-label^='S{count + 1}:']"
        hand.until(lambda: hand.driver.find_elements("css selector", mark))
        hand.driver.execute_script("document.querySelector('[name=tap]').focus()")
        hand.reach(mark)
        for key, times in ((Keys.ARROW_RIGHT, 12), (Keys.ARROW_UP, 30)):
            for _ in range(times):
                hand.press(key)
        assert hand.driver.execute_script("return document.activeElement.matches(arguments[0])", mark)
        last = hand.driver.find_elements("css selector", "[data-screw]")[-1]
        place = [last.find_element("css selector", f"[data-{axis}]").get_attribute("value") for axis in "xy"]
        assert place == ["22", "40"], "an arrow moves by a millimetre"
        hand.press(Keys.DELETE)
        hand.until(lambda: len(hand.driver.find_elements("css selector", "#plate .screw")) == count)
        assert "Taken away" in hand.find("#plate-note").text
    assert violations() == [] and hand.too_small() == []
    hand.do(".stick button", "Save and check")
    text = hand.reads("The report", 180)
    assert "What was found" in text
    job = load_job(max(door.folder.glob("sensor-plate-*"), key=lambda one: one.stat().st_mtime) / "job.yaml")
    assert job.screws is not None and len(job.screws) == count + (hand.way == "touch")
    assert violations() == [] and hand.too_small() == [] and hand.complaints() == []


def test_log(hand: Hand, violations: Violations) -> None:
    hand.go(f"/settings?{CUT}")
    hand.reads("governs")
    hand.do("a", "I made this cut")
    hand.reads("How did it go?")
    hand.choose("outcome", "acceptable")
    hand.do("button", "Log it")
    hand.reads("Logged as entry")
    hand.do("nav a", "Log")
    hand.reads("flat-6mm-1f in al-6082-t6")
    assert violations() == [] and hand.too_small() == [] and hand.complaints() == []


def test_trouble(hand: Hand, violations: Violations) -> None:
    hand.go(f"/settings?{CUT}")
    hand.reads("governs")
    hand.do("a", "It sounds wrong")
    hand.do(".answers a", "squeal")
    hand.do(".answers a", "slanted")
    hand.do("button", "Yes, what now?")
    text = hand.reads("Never:")
    assert "Likeliest: a dull or chipped edge" in text and "Look for:" in text
    assert violations() == [] and hand.too_small() == [] and hand.complaints() == []


def test_machine(hand: Hand, violations: Violations) -> None:
    hand.go("/machine/thrust?machine=gantry-800w")
    hand.write("[name=x]", "30 31 29")
    hand.do("main button", "What does it say?")
    hand.reads("stalls at")
    assert violations() == [] and hand.too_small() == [] and hand.complaints() == []
