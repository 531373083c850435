"""Every state that is no step of a flow: errors, conflicts, closed doors, documents; by axe, by glove."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("selenium", reason="the dev extra brings selenium")

from millcalc.page.place import JobFolder, Place
from tests.browser.shed import Person, own_shed
from tests.helpers.looking import JOB, SLOTS

Violations = Callable[[], list[Any]]
CUT = "/settings?machine=gantry-800w&material=al-6082-t6&cutter=flat-6mm-1f&cut=slot"


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    with own_shed(tmp_path_factory.mktemp("shed"), phone=True) as door:
        yield door


@pytest.fixture
def good(browser: Any, door: Any, violations: Violations) -> Iterator[Callable[[Person, str], None]]:
    """Looks at what is open in the way of a screen reader and of a glove."""

    def look(me: Person, what: str) -> None:
        """A mouse hits the small marks of a report's drawings on a wide screen; fingers get large ones."""
        me.find("h1")
        assert violations() == [], what
        drawing = what == "report" and me.driver.execute_script("return innerWidth") > 700
        small = [] if drawing else me.too_small()
        assert small == [], (what, small)

    yield look


def checked(me: Person, door: Any) -> JobFolder:
    folder: JobFolder = Place(door.folder).new("slots.nc", SLOTS.encode())
    folder.job.write_text(JOB, encoding="utf-8")
    me.go(f"/job/{folder.name}")
    me.tap("button", "Check it")
    me.reads("The report", 120)
    return folder


@pytest.mark.parametrize(("width", "dark"), [(360, True), (1600, False)])
def test_outcomes_forms_and_documents(
    browser: Any, door: Any, good: Callable[[Person, str], None], tmp_path: Path, width: int, dark: bool
) -> None:
    browser.screen(width, dark=dark)
    me = Person(browser, door)
    folder = checked(me, door)
    me.driver.execute_script("for (const one of document.querySelectorAll('details')) { one.open = true }")
    good(me, "an outcome with everything open")
    for part in ("report", "sheet"):
        me.go(f"/job/{folder.name}/{part}")
        good(me, part)
    me.go(f"/job/{folder.name}")
    other = tmp_path / "other.nc"
    other.write_text(SLOTS.replace("F", "F1", 1), encoding="utf-8")
    me.tap(".extra summary", "another version")
    me.find("#other").send_keys(str(other))
    me.tap("button", "Compare")
    me.tap("a", "Compared with another version")
    good(me, "a comparison")
    folder.job.write_text(JOB + "# later\n", encoding="utf-8")
    me.go(f"/job/{folder.name}")
    me.reads("have changed since this check")
    good(me, "a check that is out of date")
    me.type("#line", "999999")
    me.tap("button", "Go on from there")
    me.reads("line", 60)
    me.until(lambda: me.driver.find_elements("css selector", "#task.wrong, .card.wrong"))
    good(me, "a task that failed")
    me.go(f"/job/{folder.name}/edit")
    me.type("[name=size_x]", "wide")
    me.tap(".stick button", "Save and check")
    me.reads("width of the plate")
    good(me, "a form with an error")
    me.go("/check")
    good(me, "the list of jobs")
    me.go(CUT)
    me.reads("governs")
    name = me.find("[data-advice]").get_attribute("data-advice")
    for kind in ("ways", "bed", "speeds"):
        me.go(f"/settings/more/{name}/{kind}")
        me.driver.execute_script(
            "for (const one of document.querySelectorAll('details')) { one.open = true }"
        )
        good(me, kind)
        me.go(f"/settings/drawn/{name}/{kind}")
        good(me, f"{kind}, the document")
    for path in (CUT + "&stickout=90", "/nowhere", "/explain", "/explain/DEPTH-01", "/tables/cutters/flat-6mm-1f",
                 "/job/none-abcdef", "/wrong?symptom=ghosts&machine=x"):  # fmt: skip
        me.go(path)
        good(me, path)


def test_closed_doors(browser: Any, door: Any, good: Callable[[Person, str], None]) -> None:
    browser.screen(360)
    me = Person(browser, door)
    me.driver.execute_cdp_cmd("Network.clearBrowserCookies", {})
    me.go("/settings")
    assert "This door is closed" in me.find("h1").text
    good(me, "a closed door")
    me.tap("a", "I have a one-time code")
    good(me, "where a code is typed")
    me.type("#code", "000000" if door.sessions.code != "000000" else "111111")
    me.tap("button", "Let me in")
    me.reads("not the code")
    good(me, "a wrong code")
    me.type("#code", door.sessions.code)
    me.tap("button", "Let me in")
    me.reads("What do you want to do?")
