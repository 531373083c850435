"""Measuring on the page: every procedure says what the command line says, and writes the same machine file."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
from scipy.io import wavfile

from millcalc.page.measuring import PROCEDURES, steps_of
from tests.helpers.command import run
from tests.page.doors import Visitor, told

MACHINE = "gantry-800w"
PULLS = "2=0.026 4=0.051 6=0.077 8=0.102 10=0.128 8=0.104 6=0.08 4=0.055 2=0.03"
# form, and the words of the command line for the same
CASES: dict[str, tuple[dict[str, str], list[str]]] = {
    "stiffness": (
        {"axis-0": "x", "drop-0": "120", "rod": "8", "rod_stickout": "20"}
        | {f"pull-0-{i}": p.split("=")[0] for i, p in enumerate(PULLS.split())}
        | {f"dial-0-{i}": p.split("=")[1] for i, p in enumerate(PULLS.split())},
        ["--rod", "8", "--rod-stickout", "20", "--pull", f"x@120: {PULLS}"],
    ),
    "runout": (
        {"turn-0": "0 0.012 0.02 0.008", "turn-1": "0 0.01 0.018 0.009", "flutes": "1"},
        ["--dial", "0 0.012 0.02 0.008", "--dial", "0 0.01 0.018 0.009"],
    ),
    "speed": (
        {"mark-0": "1", "tone-0": "167", "mark-1": "3", "tone-1": "300"},
        ["--tone", "1=167", "--tone", "3=300"],
    ),
    "thrust": ({"x": "31 kg 29 30"}, ["--x", "31 kg", "--x", "29 kg", "--x", "30 kg"]),
    "acceleration": (
        {"axis": "x", "kind": "short", "distance": "2", "moves": "200", "time": "40", "feed": "3000"},
        ["--axis", "x", "--distance", "2", "--moves", "200", "--time", "40", "--asked", "3000"],
    ),
    "feed": (
        {"axis": "x", "distance": "500", "time": "30.4", "commanded": "1000"},
        ["--axis", "x", "--distance", "500", "--time", "30.4", "--commanded", "1000"],
    ),
}


@pytest.mark.parametrize("key", list(CASES))
def test_it_says_what_the_command_line_says(me: Visitor, tmp_path: Path, key: str) -> None:
    form, words = CASES[key]
    answer = me.post(f"/machine/{key}", {"machine": MACHINE, **form})
    assert answer.status_code == 200, told(answer)
    said = run(["measure", key, "--machine", MACHINE, *words, "--no-write"] if key != "feed" else
               ["measure", key, "--machine", MACHINE, *words], tmp_path).stdout  # fmt: skip
    text = told(answer)
    first = next(line for line in said.splitlines() if re.search(r"\d", line))
    assert " ".join(first.split())[:60] in text, (first, text[:900])
    assert not list(tmp_path.rglob("*.yaml")), "nothing is written unasked"


@pytest.mark.parametrize(
    ("key", "lengths"),
    [
        ("stiffness", {"drop-0": "4.72441", "rod": "0.31496", "rod_stickout": "0.7874"}),
        (
            "runout",
            {"turn-0": "0 0.00047244 0.0007874 0.00031496", "turn-1": "0 0.0003937 0.00070866 0.00035433"},
        ),
        ("acceleration", {"distance": "0.0787402", "feed": "118.1102"}),
        ("feed", {"distance": "19.68504", "commanded": "39.37008"}),
    ],
)
def test_a_bare_length_is_in_the_unit_that_was_switched(
    me: Visitor, key: str, lengths: dict[str, str]
) -> None:
    """The same readings typed in inches say the same as in millimetres; a unit behind a number goes before both."""
    form = {"machine": MACHINE, **CASES[key][0]}
    metric = me.post(f"/machine/{key}", {**form, "units": "mm"})
    me.post("/units", {"units": "in"})
    page = me.get(f"/machine/{key}?machine={MACHINE}")
    assert 'name="units" value="in"' in page.text and "A bare length is in inches;" in told(page)
    inch = me.post(f"/machine/{key}", {**form, "units": "in", **lengths})
    said = [re.search(r"<pre>(.*?)</pre>", one.text, re.S)[1] for one in (metric, inch)]  # type: ignore[index]
    assert said[0] == said[1]
    with_unit = {name: f"{value} mm" for name, value in form.items() if name in lengths and key != "runout"}
    if with_unit:
        again = me.post(
            f"/machine/{key}",
            {**form, "units": "in", **lengths, **with_unit}
            | (
                {"commanded": "1000 mm/min"}
                if key == "feed"
                else {"feed": "3000 mm/min"}
                if key != "stiffness"
                else {}
            ),
        )
        assert said[0] in again.text


def test_what_is_written_is_the_machine_from_then_on(me: Visitor, tmp_path: Path) -> None:
    form = {"machine": MACHINE, **CASES["thrust"][0]}
    answer = me.post("/machine/thrust", {**form, "write": "1", "into": "My Router"})
    written = tmp_path / "materials" / "machines" / "my-router.yaml"
    assert written.is_file() and "my-router" in told(answer)
    assert re.search(r'value="my-router" selected', me.get("/machine").text)
    assert "thrust_n" in told(me.get("/machine"))
    again = me.post("/machine/thrust", {**form, "machine": "my-router", "x": "40 41 42", "write": "1"})
    assert "the earlier one is" in told(again)
    for into in ("../../etc/cron.d/x", "/tmp/x", "a/b"):
        assert me.post("/machine/thrust", {**form, "write": "1", "into": into}).status_code == 422


def recording() -> bytes:
    """Five taps that ring at 1200 Hz with 2 % damping, a second apart."""
    rate, signal = 44_100, np.zeros(6 * 44_100)
    t = np.arange(rate) / rate
    ring = np.exp(-0.02 * 2 * np.pi * 1200 * t) * np.sin(2 * np.pi * 1200 * t)
    for second in range(5):
        start = int((0.5 + second) * rate)
        signal[start : start + rate] += ring[: len(signal) - start]
    file = io.BytesIO()
    wavfile.write(file, rate, (signal * 12_000).astype(np.int16))
    return file.getvalue()


def test_a_recording_of_taps_gives_frequency_and_damping(me: Visitor, tmp_path: Path) -> None:
    form = {"machine": MACHINE, "what": "cutter", "axis": "x", "cutter": "flat-6mm-1f", "stickout": "22"}
    answer = me.post("/machine/frequency", form, files={"wav": ("taps.wav", recording(), "audio/wav")})
    found = re.search(r"5 taps: (\d+) Hz", told(answer))
    assert found and float(found[1]) == pytest.approx(1200, rel=0.01), told(answer)
    assert "damping ratio 0.02" in told(answer)
    files = {"wav": ("taps.wav", recording(), "audio/wav")}
    written = me.post("/machine/frequency", {**form, "write": "1", "into": "mine"}, files=files)
    assert "Written" in told(written) and (tmp_path / "materials" / "machines" / "mine.yaml").is_file()


@pytest.mark.parametrize(
    ("key", "form", "reads"),
    [
        ("stiffness", {}, "no readings"),
        ("stiffness", {"axis-0": "q", "drop-0": "120", "pull-0-0": "2", "dial-0-0": "0.03"}, "series 1"),
        ("runout", {}, "readings of the dial, or widths of slots"),
        ("runout", {"turn-0": "0 zero"}, "dial"),
        ("speed", {"mark-0": "1", "tone-0": "high"}, "pitch at mark 1"),
        ("thrust", {"x": "much"}, "pulls along x"),
        ("acceleration", {"axis": "x", "distance": "2", "moves": "many", "time": "40"}, "number of moves"),
        ("feed", {"axis": "w", "distance": "500", "time": "30"}, "x, y or z"),
        ("frequency", {"axis": "x", "what": "frame"}, "no recording"),
    ],
)
def test_what_cannot_be_is_told_on_the_form(me: Visitor, key: str, form: dict[str, str], reads: str) -> None:
    answer = me.post(f"/machine/{key}", {"machine": MACHINE, **form})
    assert answer.status_code == 422 and reads in told(answer).lower(), told(answer)[:500]
    assert "--" not in told(answer)


def test_a_file_that_is_no_recording_is_told_without_its_hiding_place(me: Visitor) -> None:
    form = {"machine": MACHINE, "axis": "x", "what": "frame"}
    answer = me.post("/machine/frequency", form, files={"wav": ("x.wav", b"RIFF no", "audio/wav")})
    assert answer.status_code == 422 and "WAV" in told(answer) and "/tmp" not in told(answer)


@pytest.mark.parametrize("key", list(PROCEDURES))
def test_every_procedure_has_its_steps_its_picture_and_its_care(me: Visitor, key: str) -> None:
    answer = me.get(f"/machine/{key}?machine={MACHINE}")
    text = told(answer)
    assert "Unplug the spindle" in text and '<svg viewBox="0 0 320 180"' in answer.text
    assert steps_of(key) and all(
        step in text for step in map(lambda s: re.sub(r"\s+", " ", s), steps_of(key))
    )
    assert not re.search(r"--[a-z]|millcalc measure|====", " ".join(steps_of(key)))
    assert me.get("/machine/nothing").status_code == 404
