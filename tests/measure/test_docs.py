"""The commands of docs/measure.md, adjust.md and proof.md run as printed, and give the numbers the text names."""

from __future__ import annotations

import re
import shlex
import sys
from pathlib import Path

import pytest

from millcalc.cli.main import run

DOCS = Path(__file__).parents[2] / "docs"
# what must stand in the output of the n-th command of a file
EXPECTED = {
    "measure.md": {
        0: ["depth a pass (ap)   0.55 mm", "55 %"],
        1: ["X 0.317, Y 0.27 N/µm", "a factor of 1.09"],
        2: ["depth a pass (ap)   0.65 mm", "71 %"],
        3: ["50 mm", "40 mm", "chip room"],
        4: ["depth a pass (ap)   0.9 mm"],
        10: ["pockets worth using", "drawn in quiet.svg"],
    },
    "adjust.md": {
        0: ["squeal", "smoke"],
        1: ["0.005 mm", "0.024 mm", "→ 200 mm/min", "never: slow the feed"],
        2: ["→ 0.6 mm", "19000 rpm", "950 Hz"],
        3: ["quickest:"],
    },
    "proof.md": {
        0: [
            "density 2.70 g/cm³; the readings allow 2.64 to 2.76",
            "al-7075-t6      0.6 mm",
            "al-6082-t6      0.9 mm",
        ],
        1: ["depth from 0.6 mm to 0.9 mm", "depth 0.6 mm"],
        2: ["  1   0.23 mm", "  6   1.35 mm", "checked before it was written"],
        3: ["depth a pass (ap)   0.9 mm", "entry 1 (good)", "entry 2 (failed)"],
    },
}


def commands(name: str) -> list[str]:
    text = (DOCS / name).read_text(encoding="utf-8")
    blocks = re.findall(r"^```sh\n(.*?)^```", text, re.S | re.M)
    lines = "\n".join(blocks).replace("\\\n", " ").splitlines()
    return [line for line in lines if line.startswith("millcalc ")]


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_commands_of_the_guide(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for variable in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "APPDATA", "LOCALAPPDATA"):
        monkeypatch.setenv(variable, str(tmp_path / "none"))
    monkeypatch.setenv("MILLCALC_LOG", str(tmp_path / "cuts.db"))
    found = commands(name)
    assert len(found) >= max(EXPECTED[name])
    for number, command in enumerate(found):
        monkeypatch.setattr(sys, "argv", shlex.split(command))
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        assert not ended.value.code, (command, told.err)
        for part in EXPECTED[name].get(number, []):
            assert part in told.out, (command, part)
