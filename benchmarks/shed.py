"""The local web page: answers of the settings flow end to end in a browser, 20 clients at once, weights of its pages.

Run it on a quiet machine: ``python benchmarks/shed.py [--browser] [--clients 20] [--think 2.0]``. Times are compared
with the bare computation of the same advices in this process. No two questions are the same but where it says so, since
the page remembers what it answered.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import httpx

CUTTERS = ("flat-6mm-1f", "flat-6mm-2f", "flat-3mm-2f", "flat-4mm-2f", "flat-8mm-2f")
MATERIALS = ("al-6082-t6", "plywood-birch", "acrylic-cast", "hardwood-medium")
CUTS = ("slot", "side")
PAGES = ("/", "/settings", "/check", "/log", "/log/new", "/wrong", "/machine", "/machine/stiffness", "/care")


def main() -> None:
    """Measure and print."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--browser", action="store_true")
    ask.add_argument("--clients", type=int, default=20)
    ask.add_argument("--changes", type=int, default=15)
    ask.add_argument("--think", type=float, default=2.0, help="seconds between two changes of a client")
    given = ask.parse_args()
    print(f"the computation alone: {1000 * bare():.0f} ms median")
    with tempfile.TemporaryDirectory() as folder:
        address, server = begin(Path(folder))
        try:
            weights(address)
            alone = changes(address, 1, 30, 0.0)
            print(f"one client, one change after the other: {told(alone)}")
            many = changes(address, given.clients, given.changes, given.think)
            print(f"{given.clients} clients, a change every {given.think:g} s each: {told(many)}")
            if given.browser:
                new, again = in_browser(address)
                print(f"in the browser, from the tap to the answer shown: {told(new)}")
                print(f"  of questions asked before: {told(again)}")
        finally:
            server.terminate()
            server.wait(20)


def bare() -> float:
    """Median time of the advices that are asked for [s]."""
    from millcalc.advise.advice import advise
    from millcalc.limits.build import make_tooling
    from millcalc.limits.request import CutRequest
    from millcalc.tables import load_cutter, load_machine, load_material

    machine = load_machine("gantry-800w")
    took = []
    for cut in CUTS:
        for cutter in CUTTERS:
            tooling = make_tooling(machine, load_material(MATERIALS[0]), load_cutter(cutter))
            begun = time.perf_counter()
            advise(tooling, CutRequest(cut), buys=False)  # type: ignore[arg-type]
            took.append(time.perf_counter() - begun)
    return statistics.median(took)


def begin(folder: Path) -> tuple[str, subprocess.Popen[str]]:
    """The page, served from a process of its own; its address."""
    environment = {**os.environ, "XDG_CONFIG_HOME": str(folder), "MILLCALC_LOG": str(folder / "cuts.db")}
    words = [sys.executable, "-u", "-m", "millcalc", "page", "--no-open", "--folder", str(folder / "jobs")]
    server = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=environment)
    assert server.stdout is not None
    line = server.stdout.readline()
    found = re.search(r"http\S+", line)
    assert found, line
    time.sleep(2.0)
    return found[0], server


def client_of(address: str) -> tuple[httpx.Client, str]:
    """A browser that was let in, and the secret of its forms."""
    base = address.split("/enter")[0]
    client = httpx.Client(base_url=base, headers={"origin": base}, timeout=60, follow_redirects=True)
    client.get(address)
    found = re.search(r'name="csrf" content="([^"]+)"', client.get("/").text)
    assert found
    return client, found[1]


def changes(address: str, clients: int, count: int, think: float) -> list[float]:
    """Times of answers [s]: every client changes something, waits, changes something else."""
    took: list[float] = []

    def work(seed: int) -> None:
        draw = random.Random(1000 * clients + seed)
        client, csrf = client_of(address)
        time.sleep(draw.uniform(0, think))
        for _ in range(count):
            data = {"csrf": csrf, "machine": "gantry-800w", "material": draw.choice(MATERIALS)}
            data |= {
                "cut": draw.choice(CUTS),
                "cutter": draw.choice(CUTTERS),
                "stickout": f"{draw.uniform(24, 32):.2f}",
            }
            begun = time.perf_counter()
            client.post("/settings/answer", data=data).raise_for_status()
            took.append(time.perf_counter() - begun)
            time.sleep(draw.uniform(0.5, 1.5) * think)

    threads = [threading.Thread(target=work, args=(seed,)) for seed in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return took


def told(took: list[float]) -> str:
    """Median, 95th percentile and greatest time in words."""
    ordered = sorted(took)
    return (
        f"median {1000 * statistics.median(ordered):.0f} ms, 95 % within "
        f"{1000 * ordered[int(0.95 * (len(ordered) - 1))]:.0f} ms, longest {1000 * ordered[-1]:.0f} ms ({len(ordered)})"
    )


def weights(address: str) -> None:
    """Bytes of each page, and of what all of them share."""
    client, _ = client_of(address)
    shared = sum(len(client.get(f"/static/{name}").content) for name in ("page.css", "page.js", "icon.svg"))
    print(f"shared by all pages: {shared / 1000:.1f} kB")
    for path in PAGES:
        text = client.get(path).text
        scripts = [
            s for s in re.findall(r'src="(/static/[^"]+)"', text) if "/page.js" not in s and ".svg" not in s
        ]
        own = len(text.encode()) + sum(len(client.get(s).content) for s in scripts)
        print(f"  {path:22} {own / 1000:6.1f} kB")


def in_browser(address: str) -> tuple[list[float], list[float]]:
    """From the change of a field to the answer on the screen, of new questions and of those asked before [s]."""
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for word in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"):
        options.add_argument(word)
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))
    took: list[float] = []
    try:
        driver.get(address)
        time.sleep(1)
        driver.get(
            address.split("/enter")[0]
            + "/settings?machine=gantry-800w&material=al-6082-t6&cutter=flat-6mm-1f"
        )
        time.sleep(2)
        driver.set_script_timeout(60)
        for number in range(80):
            name, value = [("cut", "side"), ("proven", "1"), ("cut", "slot"), ("proven", "")][number % 4]
            stickout = f"{24 + number % 40 / 10:.1f}"
            took.append(
                driver.execute_async_script(
                    """const [name, value, stickout, done] = arguments, answer = document.getElementById('answer');
                    const radio = document.querySelector(`[name=${name}][value="${value}"]`);
                    document.querySelector('[name=stickout]').value = stickout;
                    const begun = performance.now();
                    new MutationObserver((_, watch) => { watch.disconnect();
                        requestAnimationFrame(() => setTimeout(() => done(performance.now() - begun), 0)); })
                        .observe(answer, { childList: true });
                    radio.checked = true; radio.dispatchEvent(new Event('input', { bubbles: true }));""",
                    name,
                    value,
                    stickout,
                )
                / 1000
            )
            time.sleep(0.5)
    finally:
        driver.quit()
    return took[:40], took[40:]


if __name__ == "__main__":
    main()
