"""Start-up counts: help imports nothing heavy, settings nothing of the number crunchers."""

from __future__ import annotations

import subprocess
import sys

HEAVY = ("numba", "scipy", "pandas", "matplotlib", "starlette", "uvicorn", "segno")


def _loaded(arguments: list[str]) -> set[str]:
    code = (
        "import sys\n"
        "from millcalc.cli.main import run\n"
        f"sys.argv = {['millcalc', *arguments]!r}\n"
        "try:\n    run()\nexcept SystemExit:\n    pass\n"
        "print('LOADED', *sorted(m for m in sys.modules if '.' not in m), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, encoding="utf-8", check=True
    )
    line = next(line for line in done.stderr.splitlines() if line.startswith("LOADED"))
    return set(line.split()[1:])


def test_help_imports_nothing_heavy() -> None:
    loaded = _loaded(["--help"])
    assert not loaded & {*HEAVY, "numpy", "pydantic", "yaml"}


def test_settings_imports_no_number_crunchers() -> None:
    loaded = _loaded(
        ["settings", "--machine", "gantry-800w", "--material", "al-6082-t6", "--cutter", "flat-6mm-1f"]
    )
    assert "numpy" in loaded
    assert not loaded & set(HEAVY)


def test_every_command_of_the_overview_loads() -> None:
    from typer.core import TyperGroup

    from millcalc.cli.lazy import COMMANDS, LazyGroup

    group = LazyGroup(name="millcalc")
    for name in COMMANDS:
        command = group.get_command(None, name)
        assert command is not None and command.name == name and command.help
        assert isinstance(command, TyperGroup) == (name in ("log", "measure", "new"))
    assert group.get_command(None, "chek") is None
