"""After several failures far below a computed limit settings advise nothing: they say what to measure."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from millcalc.advise.advice import advise
from millcalc.cutlog.evidence import Cut
from millcalc.cutlog.margins import margin_from
from millcalc.cutlog.taught import refuse_untrusted
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.depths import chatter, chatter_binds
from millcalc.limits.request import CutRequest
from millcalc.limits.state import State
from millcalc.limits.tooling import Margins
from millcalc.tables import load_cutter, load_machine, load_material
from millcalc.tables.models import Mode
from tests.helpers.command import run

SLOT = ["--machine", "gantry-800w", "--material", "al-6061-t6", "--cutter", "flat-6mm-1f"]
AT = ["--rpm", "13200", "--feed", "390", "--ap", "0.3"]


def fail(folder: Path) -> str:
    done = run(["log", "add", *SLOT, *AT, "--outcome", "failed", "--symptom", "poor-wall"], folder)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_two_failures_far_below_lower_the_advice_and_three_end_it(tmp_path: Path) -> None:
    fail(tmp_path)
    assert "next time: no advice" not in fail(tmp_path)
    assert run(["settings", *SLOT], tmp_path).returncode == 0
    assert "next time: no advice before the machine was measured" in fail(tmp_path)
    refused = run(["settings", *SLOT], tmp_path)
    assert refused.returncode == 2 and not refused.stdout.strip()
    text = " ".join(refused.stderr.split())
    assert "gantry-800w" in text and "3 failed" in text and "of the computed limit" in text
    assert "millcalc measure stiffness" in text and "millcalc log machine-changed" in text
    assert "Traceback" not in text


def test_the_remedy_obeyed_and_the_way_round_it_both_advise_again(tmp_path: Path) -> None:
    for _ in range(3):
        fail(tmp_path)
    assert run(["settings", *SLOT, "--no-learn"], tmp_path).returncode == 0
    assert run(["settings", *SLOT], tmp_path).returncode == 2
    changed = run(["log", "machine-changed", "measured stiffness", "--machine", "gantry-800w"], tmp_path)
    assert changed.returncode == 0
    assert run(["settings", *SLOT], tmp_path).returncode == 0


@pytest.mark.parametrize(
    ("share", "failures", "good", "refuses"),
    [(0.3, 3, 0, True), (0.3, 2, 0, False), (0.7, 30, 0, False), (0.3, 3, 40, False), (0.3, 3, 20, True)],
)
def test_what_refuses(share: float, failures: int, good: int, refuses: bool) -> None:
    """Failures above half teach; many good cuts at the limit outweigh three odd ones."""
    cuts = [Cut(1.0, "mdf", "failed", (), {"deflection": share})] * failures
    cuts += [Cut(1.0, "mdf", "good", (), {"deflection": 1.0})] * good
    margin = margin_from(cuts, "deflection")
    assert margin.refuses is refuses
    assert margin.far_below == (failures if share < 0.5 else 0)


def test_a_machine_nobody_blamed_is_trusted() -> None:
    tooling = make_tooling(
        load_machine("gantry-800w"), load_material("al-6061-t6"), load_cutter("flat-6mm-1f")
    )
    refuse_untrusted(tooling)
    refuse_untrusted(replace(tooling, margins=Margins(deflection=0.3)))
    with pytest.raises(InputError, match="millcalc measure thrust"):
        refuse_untrusted(replace(tooling, margins=Margins(measure="axis push: 3 telling cuts, 3 failed")))


def test_chatter_holds_the_depth_back_only_where_the_cutter_was_tapped() -> None:
    """A howl in the log does not bind: it lowers the next cut by itself (see test_heard) and teaches deflection."""
    bare = make_tooling(load_machine("gantry-800w"), load_material("al-6061-t6"), load_cutter("flat-6mm-1f"))
    howled = replace(bare, margins=Margins(chatter=0.4))
    mode = Mode(name="cutter x", axis="x", frequency_hz=1500, damping_ratio=0.02, stiffness_n_um=5,
                source="own-measurement", confidence="measured")  # fmt: skip
    tapped = replace(bare, machine=bare.machine.model_copy(update={"modes": (mode,)}))
    states = [State(each, CutRequest("slot"), 18000.0, 0.03, 0.5, 6.0) for each in (bare, howled, tapped)]
    assert [chatter_binds(state) for state in states] == [False, False, True]
    depths = [advise(each, CutRequest("slot"), buys=False).settings.axial_depth_mm for each in (bare, howled)]
    assert depths[0] == depths[1]
    assert "damping ratio 0.02 measured" in chatter(states[2]).reason
