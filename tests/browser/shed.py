"""The page of the shed, served as ``millcalc page`` serves it, and what a person does with it in a browser."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from millcalc.page.app import Door, make_app
from millcalc.page.serve import listen
from millcalc.page.sessions import Sessions

SMALL = 43.5  # a target below this is too small for a glove [px]; 44 with half a pixel for rounding


@contextmanager
def served(folder: Path, *, phone: bool = False) -> Iterator[Door]:
    """The page on a port of its own, as long as the block lasts."""
    import uvicorn

    own = listen("127.0.0.1", 0)
    number = own.getsockname()[1]
    door = Door({f"127.0.0.1:{number}"}, folder, Sessions(phone=phone))
    config = uvicorn.Config(make_app(door), log_level="critical", access_log=False, lifespan="off", ws="none")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [own]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield door
    server.should_exit = True
    thread.join(10)


@contextmanager
def own_shed(folder: Path, *, phone: bool = False) -> Iterator[Door]:
    """The page, working in a folder: its jobs and its log lie there, and nothing of this machine's user counts."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CONFIG_HOME", str(folder / "none"))
        patch.setenv("MILLCALC_LOG", str(folder / "cuts.db"))
        patch.chdir(folder)
        with served(folder / "jobs", phone=phone) as door:
            yield door


class Person:
    """Somebody in front of the page."""

    def __init__(self, browser: Any, door: Door) -> None:
        self.browser, self.driver = browser, browser.driver
        self.base = "http://" + next(iter(door.hosts))
        self.taps = 0
        self.driver.get(f"{self.base}/enter/{door.sessions.token}")
        self.until(lambda: self.driver.find_elements(By.CSS_SELECTOR, "nav a"))
        self.driver.get_log("browser")

    def go(self, path: str) -> None:
        """Open an address of the page."""
        self.driver.get(self.base + path)

    def until(self, good: Callable[[], Any], seconds: float = 30) -> Any:
        """Wait until something holds."""
        return WebDriverWait(self.driver, seconds, 0.05, ignored_exceptions=[Exception]).until(
            lambda _: good()
        )

    def find(self, css: str) -> Any:
        """The element, as soon as it is there."""
        return self.until(lambda: self.driver.find_element(By.CSS_SELECTOR, css))

    def tap(self, css: str, text: str = "") -> None:
        """Tap what is there: the first that fits, and that shows the text."""

        def wanted() -> Any:
            all_ = self.driver.find_elements(By.CSS_SELECTOR, css)
            return next((one for one in all_ if text in one.text and one.is_displayed()), None)

        found = self.until(wanted)
        self.driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", found)
        time.sleep(0.05)
        found.click()
        self.taps += 1

    def type(self, css: str, text: str) -> None:
        """Type into a field, over what stands there."""
        found = self.find(css)
        self.driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", found)
        found.clear()
        found.send_keys(text)

    def reads(self, text: str, seconds: float = 30) -> str:
        """Wait until the page shows a text; what the page shows then."""
        body: list[str] = [""]

        def there() -> bool:
            body[0] = self.driver.find_element(By.TAG_NAME, "main").text
            return text in body[0]

        try:
            self.until(there, seconds)
        except Exception:
            raise AssertionError(f"{text!r} is not in: {body[0][:3000]}") from None
        return body[0]

    def too_small(self) -> list[str]:
        """Targets that a glove does not hit, and what runs off the screen."""
        return list(
            self.driver.execute_script(
                """const least = arguments[0], bad = [];
                const all = 'a, button, input, select, summary, textarea, label.option';
                for (const e of document.querySelectorAll(all)) {
                    const label = e.closest('.pick label, label.option, label.tick') ||
                        (e.matches('[type=checkbox], [type=radio]') && e.closest('label'));
                    const box = (label || e).getBoundingClientRect();
                    const prose = e.tagName === 'A' && e.closest('p, li') && !e.matches('.button, .all, .foot a');
                    if (!box.width || prose || e.matches('.skip, [type=hidden]')) { continue; }
                    if (box.height < least || box.width < least) {
                        bad.push(e.outerHTML.slice(0, 90) + ' ' + box.width + 'x' + box.height);
                    }
                }
                if (document.documentElement.scrollWidth > innerWidth) { bad.push('runs off the screen'); }
                return bad;""",
                SMALL,
            )
        )

    def complaints(self) -> list[str]:
        """What the browser's console says; refused checks of forms are the page's own answers."""
        return [one for one in self.browser.console() if "favicon" not in one]
