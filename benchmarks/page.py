"""The page of a million-line program: prints its time beside the check's, its size, and how long a browser takes.

Run ``python benchmarks/page.py [--lines 1000000]``. The program is a wavy surface for the sensor plate of the
demo job. Limits of the project: at most 5 s more than the check, 6 MB, opened in 2 s.
"""

from __future__ import annotations

import argparse
import math
import shutil
import tempfile
import time
from pathlib import Path

from millcalc.check.run import look_at
from millcalc.report.page_html import report_page
from millcalc.tables import demo_root


def surface(lines: int) -> str:
    """A program that mills a wavy surface in rows, to and fro.

    lines: Number of cutting lines [-].
    Returns: The program.
    """
    rows = max(2, math.isqrt(lines // 4))
    columns = max(2, lines // rows)
    out = ["G21 G90 G17 G94 G54", "T1 M6", "S13200 M3", "G4 P6", "G0 Z12", "G0 X12 Y20", "G1 Z0 F75", "F390"]
    for row in range(rows):
        y = 20 + 70 * row / (rows - 1)
        order = range(columns) if row % 2 == 0 else range(columns - 1, -1, -1)
        for column in order:
            x = 12 + 136 * column / (columns - 1)
            z = -1.5 - 1.2 * math.sin(x / 9) * math.cos(y / 7)
            out.append(f"X{x:.3f} Y{y:.3f} Z{z:.3f}")
    return "\n".join([*out, "G0 Z12", "M5", "M2"]) + "\n"


SCRUB = """const slider = document.getElementById('moment'), times = [];
for (let i = 0; i < 40; i += 1) {
    slider.value = String((i * 997) % 3000);
    const begin = performance.now();
    slider.dispatchEvent(new Event('input', { bubbles: true }));
    times.push(performance.now() - begin);
}
times.sort((a, b) => a - b);
return [times[20], times[39]]"""


def opened_s(page: Path) -> tuple[float, float, float] | None:
    """Time until a browser shows the page and its stock over time, and time of a step of its scrubber.

    page: The page.
    Returns: Opening [s], the usual and the longest of 40 steps [ms]; None where there is no Chromium or no selenium.
    """
    program, driver = shutil.which("chromium"), shutil.which("chromedriver")
    try:
        from selenium import webdriver
    except ImportError:
        return None
    if program is None or driver is None:
        return None
    options = webdriver.ChromeOptions()
    options.binary_location = program
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run"):
        options.add_argument(argument)
    browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    browser.get("about:blank")
    begin = time.perf_counter()
    browser.get(page.as_uri())
    while not browser.execute_script("return document.getElementById('stock-note').textContent !== ''"):
        time.sleep(0.01)
    took = time.perf_counter() - begin
    usual, longest = browser.execute_script(SCRUB)
    browser.quit()
    return took, usual, longest


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lines", type=int, default=1_000_000)
    lines = parser.parse_args().lines
    job = demo_root() / "sensor_plate" / "job.yaml"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        small, program = folder / "small.nc", folder / "surface.nc"
        small.write_text(surface(5000), encoding="utf-8")
        program.write_text(surface(lines), encoding="utf-8")
        report_page(look_at(small, job))  # compile and import
        begin = time.process_time()  # of the processor, so that other work on the computer does not count
        looked = look_at(program, job)
        checked = time.process_time()
        page = report_page(looked)
        done = time.process_time()
        path = folder / "page.html"
        path.write_text(page, encoding="utf-8")
        check_s, page_s = checked - begin, done - checked
        print(
            f"processor time: check {check_s:.2f} s; page {page_s:.2f} s more ({page_s / check_s:.2f} of the check)"
        )
        print(
            f"page {path.stat().st_size / 1e6:.2f} MB for a program of {program.stat().st_size / 1e6:.1f} MB"
        )
        took = opened_s(path)
        print(
            "no browser to open it with"
            if took is None
            else f"opened in {took[0]:.2f} s; a scrub step takes {took[1]:.0f} ms, at most {took[2]:.0f} ms"
        )


if __name__ == "__main__":
    main()
