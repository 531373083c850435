"""A real browser for the tests of the pages: headless Chromium through Selenium; skipped where there is none."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
START = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--enable-unsafe-swiftshader",  # draws in relief without a graphics card
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
    "--use-fake-device-for-media-stream",
    "--use-fake-ui-for-media-stream",
)


class Browser:
    """The few things the tests do with a browser."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def screen(self, width: int, *, dark: bool = False) -> None:
        """Set the width of the screen and the colour scheme."""
        metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        scheme = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": scheme})

    def touch(self, on: bool) -> None:
        """Take fingers for the pointer, or a mouse, and a phone's height for fingers."""
        self.driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": on})
        if on:
            metrics = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
            self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)

    def open(self, path: Path) -> None:
        """Open a page from disk and wait until its script has run."""
        self.driver.get_log("browser")
        self.driver.get_log("performance")
        self.driver.get(path.as_uri())

    def ready(self) -> None:
        """Wait for the page's script, and for the stock over time where there is one."""
        from selenium.webdriver.support.ui import WebDriverWait

        done = """const data = JSON.parse(document.getElementById('data').textContent);
            return document.documentElement.dataset.ready === 'yes' &&
                (!data.stock || document.getElementById('stock-note').textContent !== '')"""
        WebDriverWait(self.driver, 20, 0.05).until(lambda d: d.execute_script(done))

    def run(self, script: str, *arguments: Any) -> Any:
        """Run a script in the page."""
        return self.driver.execute_script(script, *arguments)

    def console(self) -> list[str]:
        """Errors and warnings the page wrote since it was opened; not what a driver without a card says of its pace."""
        said = (str(entry["message"]) for entry in self.driver.get_log("browser"))
        return [message for message in said if "GL Driver Message (OpenGL, Performance" not in message]

    def requests(self) -> list[str]:
        """Addresses asked for since the page was opened."""
        found = []
        for entry in self.driver.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                found.append(str(message["params"]["request"]["url"])[:200])
        return found

    def pdf(self, width_in: float, height_in: float) -> bytes:
        """The page as it prints."""
        import base64

        paper = {"paperWidth": width_in, "paperHeight": height_in, "printBackground": False}
        return base64.b64decode(self.driver.execute_cdp_cmd("Page.printToPDF", paper)["data"])


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    webdriver = pytest.importorskip("selenium.webdriver", reason="the dev extra brings selenium")
    program = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    driver = shutil.which("chromedriver")
    if program is None or driver is None:
        pytest.skip("no Chromium with its driver on this computer; .ci/run installs them")
    options = webdriver.ChromeOptions()
    options.binary_location = program
    for argument in (*START, f"--user-data-dir={tmp_path_factory.mktemp('browser')}"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    made = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    yield Browser(made)
    made.quit()


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Text of axe-core's script, from npm."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("no npm on this computer, so no axe-core; .ci/run installs it")
    folder = tmp_path_factory.mktemp("axe")
    done = subprocess.run(
        [npm, "install", "--no-save", "--no-audit", "--no-fund", "--prefix", str(folder), "axe-core@4"],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    script = folder / "node_modules" / "axe-core" / "axe.min.js"
    if done.returncode or not script.is_file():
        pytest.skip(f"npm could not install axe-core: {done.stderr.strip()[-200:]}")
    return script.read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def violations(browser: Browser, axe: str) -> Callable[[], list[Any]]:
    """What axe-core finds wrong in the page that is open."""

    def found() -> list[Any]:
        browser.driver.execute_cdp_cmd("Runtime.evaluate", {"expression": axe})
        browser.driver.set_script_timeout(60)
        return list(
            browser.driver.execute_async_script(
                "const done = arguments[0]; axe.run().then((r) => done(r.violations.map((v) => "
                "[v.id, v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + ' ' + n.failureSummary.slice(0, 300))])))"
            )
        )

    return found


@pytest.fixture(scope="session")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, str], Path]:
    """Writes a page into a folder of its own and gives its path."""

    def write(name: str, text: str) -> Path:
        path = tmp_path_factory.mktemp("pages") / name
        path.write_text(text, encoding="utf-8", newline="\n")
        return path

    return write
