"""From a result to settings: the step logic by hand, and properties over every pair of answers."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.advise.proof import make_strip
from millcalc.advise.proof_keep import record_data
from millcalc.advise.proof_record import ProofRecord, read_record, record_path
from millcalc.advise.proof_result import decide
from millcalc.cutlog.proofs import entries_from
from millcalc.errors import InputError, LogError
from millcalc.limits.build import make_tooling
from millcalc.tables import load_cutter, load_machine, load_material

WHEN = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)


@lru_cache
def written(ladder: str) -> tuple[str, str]:
    built = make_tooling(load_machine("gantry-800w"), load_material("6082"), load_cutter("flat-6mm-1f"))
    strip = make_strip(built, ladder)  # type: ignore[arg-type]
    return strip.program, json.dumps(record_data(strip, "proof.nc", WHEN))


def record(ladder: str = "depth") -> ProofRecord:
    return ProofRecord.model_validate_json(written(ladder)[1])


def depth(number: int, ladder: str = "depth") -> float:
    return record(ladder).steps[number - 1].settings.axial_depth_mm


def test_step_logic_by_hand() -> None:
    kept = record()
    assert [depth(n) for n in range(1, 7)] == pytest.approx([0.225, 0.45, 0.675, 0.9, 1.125, 1.35])
    told = {
        (4, 6): 0.9,  # step 5 ran: the best itself
        (4, 5): 0.65,  # the next failed: one back, 0.675
        (4, None): 0.65,  # nothing harder is known to have run: one back
        (6, None): 1.1,
        (1, 3): 0.22,  # step 1 itself, 0.225 rounded down
        (1, None): 0.18,  # no gentler step: a fifth less than 0.225
        (1, 2): 0.18,
    }
    for (best, failed), expected in told.items():
        proven = decide(kept, best, failed)
        assert proven.depth_mm == pytest.approx(expected), (best, failed)
        assert proven.spare == ((best, failed) in {(4, 6), (1, 3)})


def test_a_chip_load_is_kept_and_the_depth_given_back() -> None:
    kept = record("chip")
    for failed in (None, 4):
        proven = decide(kept, 3, failed)
        assert proven.step.number == 3
        assert depth(3, "chip") == pytest.approx(0.45)
        assert proven.depth_mm == pytest.approx(0.36), "a fifth less, which a person can set"
    assert decide(kept, 3, 5).depth_mm == depth(3, "chip")


@settings(deadline=None, max_examples=40)
@given(
    ladder=st.sampled_from(["depth", "chip"]),
    best=st.integers(1, 6),
    failed=st.one_of(st.none(), st.integers(2, 6)),
)
def test_settings_never_go_beyond_the_best_step(ladder: str, best: int, failed: int | None) -> None:
    kept = record(ladder)
    if failed is not None and failed <= best:
        with pytest.raises(InputError) as caught:
            decide(kept, best, failed)
        assert caught.value.field == "--failed"
        return
    proven = decide(kept, best, failed)
    good = kept.steps[best - 1].settings
    assert 0 < proven.depth_mm <= good.axial_depth_mm
    assert proven.step.settings.feed_mm_min <= good.feed_mm_min
    assert proven.spare or proven.depth_mm < good.axial_depth_mm
    if failed is not None:
        harder = decide(kept, best, failed + 1) if failed < 6 else proven
        assert harder.depth_mm >= proven.depth_mm, "a later failure never takes depth away"


@pytest.mark.parametrize(("best", "failed"), [(0, None), (7, None), (-1, None), (6, 7), (3, 3), (3, 2)])
def test_steps_that_are_not_there_are_refused(best: int, failed: int | None) -> None:
    with pytest.raises(InputError):
        decide(record(), best, failed)


def test_entries_carry_the_bare_prediction_and_the_symptom() -> None:
    good, bad = entries_from(decide(record(), 4, 6), WHEN, ["chatter"], "mist on")
    assert (good.outcome, bad.outcome, bad.symptoms) == ("good", "failed", ("chatter",))
    assert good.axial_depth_mm == pytest.approx(0.9) and bad.axial_depth_mm == pytest.approx(1.35)
    assert good.origin == "test cut" and good.operation == "slot" and "mist on" in good.notes
    assert {"deflection", "chip_high"} <= set(good.shares)
    assert bad.shares["deflection"] == pytest.approx(1.5 * good.shares["deflection"], rel=0.02), (
        "linear in depth but for the lag of the helix"
    )
    assert good.uid != bad.uid and len(entries_from(decide(record(), 4), WHEN)) == 1
    assert entries_from(decide(record(), 4), WHEN)[0].uid == good.uid, "one name for one step"
    with pytest.raises(LogError):
        entries_from(decide(record(), 4, 6), WHEN, ["gremlins"])


def test_record_is_read_back_and_a_changed_program_is_refused(tmp_path: Path) -> None:
    program, text = written("depth")
    path = tmp_path / "proof.nc"
    with pytest.raises(InputError, match="no such file"):
        read_record(path)
    record_path(path).write_text(text, encoding="utf-8")
    assert read_record(path) == record(), "the program itself need not be there"
    path.write_bytes(program.encode())
    assert read_record(path) == record()
    path.write_bytes(program.replace("F390", "F900").encode())
    with pytest.raises(InputError, match="changed"):
        read_record(path)


@pytest.mark.parametrize(
    "change",
    [
        lambda data: data.pop("steps"),
        lambda data: data.update(steps=[]),
        lambda data: data["steps"].reverse(),
        lambda data: data.update(schema="millcalc-proof/2"),
        lambda data: data["steps"][2]["settings"].update(axial_depth_mm=-1),
        lambda data: data["steps"][2]["settings"].update(axial_depth_mm=0.01),
        lambda data: data.update(ladder="speed"),
        lambda data: data.update(extra=1),
    ],
)
def test_damaged_records_are_named_and_refused(tmp_path: Path, change: object) -> None:
    data = json.loads(written("depth")[1])
    change(data)  # type: ignore[operator]
    path = tmp_path / "proof.nc"
    record_path(path).write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_record(path)
    assert caught.value.file is not None and "proof.proof.json" in caught.value.file


@given(st.binary(max_size=200))
@settings(deadline=None, max_examples=40)
def test_any_bytes_in_place_of_a_record_are_refused(data: bytes) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "proof.nc"
        record_path(path).write_bytes(data)
        with pytest.raises(InputError):
            read_record(path)
