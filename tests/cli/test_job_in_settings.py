"""What settings and adjust take from a job besides machine, material and cutter; and the pound by its definition."""

from __future__ import annotations

from pathlib import Path

from millcalc.tables.locate import demo_root
from millcalc.units_show import N_PER_LBF, show_force
from tests.helpers.command import run

PLATE = demo_root() / "sensor_plate" / "job.yaml"


def test_the_jobs_thickness_gives_the_passes(tmp_path: Path) -> None:
    told = " ".join(run(["settings", "--job", str(PLATE)], tmp_path).stdout.split())
    assert "6 mm: 7 passes of 0.86 mm" in told
    typed = run(["settings", "--job", str(PLATE), "--thickness", "3 mm"], tmp_path).stdout
    assert "3 mm: 4 passes of 0.75 mm" in " ".join(typed.split())


def test_a_proven_job_is_judged_by_every_limit_in_full(tmp_path: Path) -> None:
    words = ["adjust", "squeal", "--answer", "powder", "--job"]
    first = " ".join(run([*words, str(PLATE)], tmp_path).stdout.split())
    assert "judged as a first cut" in first
    (tmp_path / "job.yaml").write_text(
        PLATE.read_text(encoding="utf-8") + "\nproven: true\n", encoding="utf-8"
    )
    proven = " ".join(run([*words, "job.yaml"], tmp_path).stdout.split())
    assert "judged as proven, every limit in full" in proven


def test_a_pound_is_what_it_is_defined_as() -> None:
    """NIST SP 811, appendix B.8: 1 lbf = 4.448222 N."""
    assert abs(N_PER_LBF - 4.448222) < 5e-7 and show_force(4.448222, "in") == "1 lbf"
