"""Output as wide as on any pipe; hypothesis draws the same cases every run unless MILLCALC_EXPLORE is set.

The tests of ``LONG`` run with ``MILLCALC_ALL=1`` only, so that the suite stays under three minutes on two cores; the
nearest quick test of the same thing stands behind each.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator
from fnmatch import fnmatchcase

import pytest
from hypothesis import settings

LONG = {
    "house_rules/test_package.py::*": "`.ci/run` runs it by itself",
    "browser/test_shed_flows.py::test_from_a_program*": "page/test_check_page.py asks the server the same",
    "browser/test_shed_flows.py::test_a_running_check*": "page/test_check_page.py stops a check too",
    "browser/test_shed_flows.py::test_how_it_went*": "page/test_log_page.py",
    "browser/test_shed_hands.py::test_[!l]*": "browser/test_shed_settings.py by tapping, tests/page asks the server",
    "browser/test_shed_hands.py::test_log[[]touch*": "the same by keyboard",
    "browser/test_shed_states.py::test_outcomes*": "the report's pages are held by axe in every run",
    "browser/test_shed_flows.py::test_measuring_pages*": "page/test_machine_page.py",
    "browser/test_shed_flows.py::test_the_browser_records*": "page/test_machine_page.py sends such a file",
    "browser/test_shed_settings.py::test_screen_readers*": "the report's pages are held by axe in every run",
    "browser/test_shed_settings.py::test_by_keyboard*": "browser/test_shed_settings.py by tapping",
    "browser/test_shed_settings.py::test_a_change_asks_once*": "browser/test_shed_settings.py by tapping",
    "browser/test_answers_in_browser.py::*settings]": "the other four answers' pages",
    "browser/test_true_pictures_in_browser.py::test_a_long_program*": "preflight/test_moments.py",
    "check/test_first_run.py::test_what_the_second*": "the same in this process",
    "cli/test_alloy_command.py::test_the_row_for_an_unknown*": "advise/test_band.py",
    "cli/test_alloy_command.py::test_band_is_printed*": "advise/test_band.py, and the commands of docs/proof.md",
    "pinned/test_settings_table.py::*screw-desktop-300w]": "the same table for the other machine",
    "advise/test_band.py::*gantry-800w-flat-3mm-2f-side]": "the other rows of the band",
    "advise/test_band.py::*bench-mill-small-flat-6mm-2f-hss-face]": "the other rows of the band",
    "advise/test_advice.py::*[[]*-belt-*": "the other machines",
    "advise/test_advice.py::*[[]*-gantry-1500w*": "the other machines",
    "advise/test_advice.py::*[[]*-gantry-2200w*": "the other machines",
    "advise/test_advice.py::*[[]*-screw-*": "the other machines",
    "limits/test_monotone.py::test_a_harder_alloy*": "the drawn cases of the same file",
    "limits/test_monotone.py::test_every_milling_cutter*": "practice/test_practice.py",
    "preflight/test_whole_edits.py::*[[]1-*": "the first lift of the same programs",
    "preflight/test_whole_edits.py::*sensor_plate]": "the same with the window",
    "preflight/test_whole_edits.py::*-box]": "the same with the window",
    "preflight/test_whole_edits.py::*-window_taped]": "the same with the window",
    "preflight/test_whole_edits.py::*-ordinary]": "the same with the window",
    "preflight/test_geometry.py::test_unlimited_arc_is_exact": "the limited arcs beside it",
    "properties/test_advice_passes_preflight.py::test_the_advice_passes_and*": "preflight/test_advice_passes.py",
    "page/test_check_page.py::test_copies_are_made*": "cli/test_rewrite_commands.py",
    "advise/test_proof.py::test_every_step*-gantry-1500w]": "the other machines",
    "advise/test_proof.py::test_every_step*-gantry-2200w]": "the other machines",
    "advise/test_proof.py::test_every_step*-screw-*]": "the other machines",
    "advise/test_one_voice.py::test_an_advised_chip*gantry-2200w]": "the same for the other machine",
    "cli/test_first_screens.py::test_settings_fit*[[]slot-[mc]*": "each material and each cut once",
    "cli/test_first_screens.py::test_settings_fit*[[]plunge-[ac]*": "each material and each cut once",
    "cli/test_first_screens.py::test_settings_fit*[[]helix-[am]*": "each material and each cut once",
    "cli/test_formats_and_compare.py::test_a_folder_in_processes": "check/test_many.py starts such processes",
    "practice/test_ways.py::test_facing_is_a_skim*-gantry-1500w]": "the other machines",
    "practice/test_ways.py::test_facing_is_a_skim*-gantry-2200w]": "the other machines",
    "practice/test_ways.py::test_facing_is_a_skim*-screw-*": "the other machines",
    "browser/test_page_in_browser.py::test_nothing_runs_off*[[]900]": "the narrower and the wider screen",
    "browser/test_true_pictures_in_browser.py::test_signs_texts*[[]768]": "the narrower and the wider screen",
    "report/test_page.py::test_programs_of_the_corpus*[[][f-z]*": "the programs before them in the corpus",
    "properties/test_advice_passes_preflight.py::test_a_screw_moved*": "preflight/test_advice_passes.py",
    "browser/test_sheet_in_browser.py::test_one_page[[][gwc]*-Letter]": "the same on A4, and a bad one on Letter",
    "browser/test_sheet_in_browser.py::test_one_page[[]b[ao][rx]*-Letter]": "the same on A4, and a bad one on Letter",
    "browser/test_true_pictures_in_browser.py::test_mark_section*[[]768]": "the narrower and the wider screen",
    "browser/test_true_pictures_in_browser.py::test_the_scale_bar*[[]768]": "the narrower and the wider screen",
    "browser/test_page_in_browser.py::test_accessibility*[[]bad-True-768]": "the narrower and the wider screen",
    "cli/test_units_shown.py::*[[]settings [fprh]*[ ]]": "the same with --more; slot, side and drill without",
}


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """Keep neighbours in one process, so that what they share is made once; who is idle takes over later."""
    if getattr(config.option, "numprocesses", None) and config.option.dist == "no":
        config.option.dist = "worksteal"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave the long tests out unless all are asked for."""
    if os.environ.get("MILLCALC_ALL"):
        return
    for item in items:
        name = item.nodeid.removeprefix("tests/")
        if any(fnmatchcase(name, pattern) for pattern in LONG):
            item.add_marker(pytest.mark.skip(reason="long; set MILLCALC_ALL=1 to run it"))


gc.disable()  # nothing that collecting the tests makes is garbage


def pytest_collection_finish() -> None:
    """What is there now stays to the end: it is not looked through for garbage again and again."""
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


# compiled once for both processes, for the hundred that tests start, and for the next run
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
os.environ.pop("COLUMNS", None)
SURROUNDINGS = dict(os.environ)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> Iterator[None]:
    """What a file of tests sets in the surroundings is gone after it: or all that follows obeys it."""
    yield
    if nextitem is not None and nextitem.path == item.path:
        return
    changed = {name for name, _ in os.environ.items() ^ SURROUNDINGS.items()} - {"PYTEST_CURRENT_TEST"}
    os.environ.update({name: SURROUNDINGS[name] for name in changed & SURROUNDINGS.keys()})
    for name in changed - SURROUNDINGS.keys():
        del os.environ[name]
    assert not changed, f"{item.path.name} leaves behind in the surroundings: {', '.join(sorted(changed))}"


settings.register_profile("fixed", derandomize=True, deadline=None, database=None)
settings.register_profile("explore", deadline=None, database=None)
settings.load_profile("explore" if os.environ.get("MILLCALC_EXPLORE") else "fixed")
