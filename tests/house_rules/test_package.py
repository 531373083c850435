"""A wheel built from the checkout and installed in an empty environment runs the demo from any folder."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def test_wheel_runs_from_an_empty_environment(tmp_path: Path) -> None:
    pytest.importorskip("hatchling", reason="the dev extra brings the build backend")
    pytest.importorskip("build", reason="the dev extra brings the build front end")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path), str(ROOT)],
        check=True,
        capture_output=True,
    )
    wheel = next(tmp_path.glob("millcalc-*.whl"))
    home = tmp_path / "env"
    venv.create(home, with_pip=False)
    scripts = home / ("Scripts" if os.name == "nt" else "bin")
    python = scripts / ("python.exe" if os.name == "nt" else "python")
    subprocess.run(
        [
            sys.executable,
            "-m",
            "pip",
            "--python",
            str(python),
            "install",
            "-q",
            "--no-deps",
            "--no-index",
            str(wheel),
        ],
        check=True,
        capture_output=True,
    )
    # the libraries come from this environment; a .pth line adds them without this checkout's editable install
    inside = subprocess.run(
        [str(python), "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.strip()
    (Path(inside) / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    environment |= {"XDG_CONFIG_HOME": str(tmp_path / "none"), "APPDATA": str(tmp_path / "none")}

    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [str(python), "-m", "millcalc", *arguments],
            cwd=elsewhere,
            env=environment,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )

    where = subprocess.run(
        [str(python), "-c", "import millcalc; print(millcalc.__file__)"],
        cwd=elsewhere,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert str(home) in where, "the wheel is what runs"
    script = (
        "from millcalc.page.app import Door, make_app; from millcalc.page.home import STATIC\n"
        "from millcalc.page.sessions import Sessions; from millcalc.page.show import environment, package_text\n"
        "from pathlib import Path\n"
        "make_app(Door({'h'}, Path('jobs'), Sessions())); environment().get_template('home.html.j2')\n"
        "print(sum(len(package_text('static', name)) for name in STATIC))\n"
    )
    page = subprocess.run(
        [str(python), "-c", script],
        cwd=elsewhere,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert page.returncode == 0 and int(page.stdout) > 20_000, page.stderr
    listed = run("tables", "materials")
    assert listed.returncode == 0 and "al-6082-t6" in listed.stdout, listed.stderr
    demo = run("demo")
    assert demo.returncode == 0, demo.stderr
    assert "check of bad.nc" in demo.stdout
