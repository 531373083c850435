"""The log is heard: entries typed by hand teach, a failure lowers the next advice, proven settings are offered."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from millcalc.advise.advice import advise
from millcalc.cutlog.experience import cuts_like, proven_here
from millcalc.cutlog.next_time import next_settings
from millcalc.cutlog.store import Log
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import FailedCut, Margins
from millcalc.report.proven_here_text import proven_text
from millcalc.report.settings_text import why_lines
from millcalc.tables import load_cutter, load_machine, load_material
from tests.helpers.command import run

SLOT = ["--machine", "gantry-800w", "--material", "al-6061-t6", "--cutter", "flat-6mm-1f"]


def add(folder: Path, ap: float, outcome: str, *more: str, rpm: int = 13200, feed: int = 390) -> str:
    typed = ["--rpm", str(rpm), "--feed", str(feed), "--ap", str(ap), "--outcome", outcome, *more]
    done = run(["log", "add", *SLOT, *typed], folder)
    assert done.returncode == 0, done.stderr
    return done.stdout


def advised(folder: Path) -> tuple[float, float, str]:
    """Depth [mm], removal [cm3/min], and what the first screen says of it: the function behind the command."""
    (folder / "none").mkdir(exist_ok=True)
    with Log(folder / "none" / "cuts.db") as log:
        answer = next_settings(log, {"machine": SLOT[1], "material": SLOT[3], "cutter": SLOT[5]})
        assert answer is not None
        found = proven_here(cuts_like(log, answer.tooling, "slot"))
    proven = proven_text(found, answer, "mm") if found is not None else ()
    return answer.settings.axial_depth_mm, answer.removal_cm3_min, "\n".join([*why_lines(answer), *proven])


def test_an_entry_typed_by_hand_gets_the_shares_of_the_limits_from_its_values(tmp_path: Path) -> None:
    add(tmp_path, 0.6, "good")
    shown = run(["log", "show", "1", "--json"], tmp_path).stdout
    by_hand = dict(re.findall(r'"(deflection|power|thrust|chip_high)": ([\d.e-]+)', shown))
    asked = run(
        ["settings", *SLOT, "--ap", "0.6", "--rpm", "13200", "--feed", "390", "--json"], tmp_path
    ).stdout
    (tmp_path / "cut.json").write_text(asked, encoding="utf-8")
    run(["log", "add", "--from-settings", "cut.json", "--outcome", "good"], tmp_path)
    other = run(["log", "show", "2", "--json"], tmp_path).stdout
    from_file = dict(re.findall(r'"(deflection|power|thrust|chip_high)": ([\d.e-]+)', other))
    assert set(by_hand) == {"deflection", "power", "thrust", "chip_high"}
    for kind in ("deflection", "power", "thrust"):
        assert float(by_hand[kind]) == pytest.approx(float(from_file[kind]), rel=1e-6)


def test_what_is_missing_is_named_at_once(tmp_path: Path) -> None:
    done = run(["log", "add", *SLOT, "--ap", "0.6", "--outcome", "good"], tmp_path)
    assert done.returncode == 0 and "changes no advice: it lacks --rpm, --feed" in done.stdout


def test_a_failure_at_the_advised_settings_lowers_the_very_next_advice_and_says_so(tmp_path: Path) -> None:
    first, _, _ = advised(tmp_path)
    said = add(tmp_path, first, "failed", "--symptom", "chatter")
    now, _, screen = advised(tmp_path)
    assert now <= 0.75 * first
    shown = run(["settings", *SLOT], tmp_path).stdout
    assert re.search(rf"depth a pass \(ap\)\s+{now:g} mm", shown)
    assert f"next time: {now:g} mm instead of {first:g} mm at 390 mm/min" in said
    assert "what failed here governs" in screen
    again = add(tmp_path, now, "failed", "--symptom", "chatter")
    assert advised(tmp_path)[0] <= 0.75 * now and "next time:" in again


def test_good_cuts_never_lower_the_advice(tmp_path: Path) -> None:
    first, rate, _ = advised(tmp_path)
    for _ in range(3):
        said = add(tmp_path, first, "good")
        depth, now, _ = advised(tmp_path)
        assert depth >= first and now >= rate * 0.999
    assert "the advice stays at" in said
    add(tmp_path, first, "failed", "--symptom", "chatter")
    lowered, rate, _ = advised(tmp_path)
    for _ in range(3):
        add(tmp_path, lowered, "good")
        depth, now, _ = advised(tmp_path)
        assert depth >= lowered and now >= rate * 0.999


def test_five_good_cuts_offer_their_settings_beside_the_first_cut_with_the_step_between(
    tmp_path: Path,
) -> None:
    for number in range(5):
        assert "proven here" not in advised(tmp_path)[2], number
        add(tmp_path, 1.2, "good", rpm=18000, feed=800)
    depth, _, screen = advised(tmp_path)
    text = " ".join(screen.split())
    assert "proven here: 18000 rpm, 800 mm/min, 1.2 mm deep: 5 good cuts" in text
    between = re.search(r"the step between: (\d+) rpm, (\d+) mm/min, ([\d.]+) mm deep", text)
    assert (
        between
        and depth < float(between[3]) < 1.2
        and 390 < int(between[2]) < 800
        and int(between[1]) > 13200
    )
    add(tmp_path, 1.1, "failed", "--symptom", "chatter", rpm=18000, feed=800)
    assert "proven here" not in advised(tmp_path)[2]


def test_a_failure_that_depth_cannot_cause_leaves_the_depth_alone(tmp_path: Path) -> None:
    first, _, _ = advised(tmp_path)
    add(tmp_path, first, "failed", "--symptom", "cutter-slipped")
    assert advised(tmp_path)[0] == first


def test_what_failed_with_one_cutter_does_not_hold_another_back() -> None:
    bare = make_tooling(load_machine(SLOT[1]), load_material(SLOT[3]), load_cutter(SLOT[5]))
    failed = bare.with_changes(margins=Margins(deflection=0.9, failed=(FailedCut("slot", 0.4, 6.0),)))
    same, other = (
        failed.with_changes(stickout_mm=20.0),
        failed.with_changes(cutter=load_cutter("flat-5mm-1f")),
    )
    request = CutRequest("slot")
    assert advise(same, request, buys=False).settings.axial_depth_mm == 0.3  # three quarters of 0.4 mm
    assert other.margins == Margins(deflection=0.9)  # the machine's own lessons stay
    assert advise(other, request, buys=False).settings.axial_depth_mm > 0.4
