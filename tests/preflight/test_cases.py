"""Every rule against its case files: what must be found, and what must not.

``$H`` stands for a common head (units, spindle, dwell, travel to X20 Y20 at Z5, five lines), ``$Z`` for a zigzag of
short reversals; `` / `` separates lines. Each case runs its own rule only.
"""

from __future__ import annotations

import copy
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from millcalc.check.prepare import CheckOptions, make_context
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.preflight import all_rules, run_rules
from tests.preflight.said import SAID, told

CASES = Path(__file__).parent / "cases"
HEAD = "G21 G90 G17 G94 G54 / M3 S18000 / G4 P5 / G0 Z5 / G0 X20 Y20"
ZIGZAG = " / G1 X20.05 F3000" + " / G1 X20 / G1 X20.05" * 60


@cache
def jobs() -> dict[str, Any]:
    return yaml.safe_load((CASES / "jobs.yaml").read_text(encoding="utf-8"))


@cache
def cases() -> dict[str, Any]:
    found: dict[str, Any] = {}
    for path in sorted(CASES.glob("*.yaml")):
        if path.name != "jobs.yaml":
            found.update(yaml.safe_load(path.read_text(encoding="utf-8")))
    return found


def merged(base: Any, change: Any) -> Any:
    if not isinstance(base, dict) or not isinstance(change, dict):
        return copy.deepcopy(change)
    out = dict(base)
    for key, value in change.items():
        if value is None:
            out.pop(key, None)
        else:
            out[key] = merged(out.get(key), value) if key in out else copy.deepcopy(value)
    return out


@cache
def _setup(text: str):
    return build_setup(parse_job(text, "case"))


def context(case: dict[str, Any]):
    setup = None
    if case.get("job") != "none":
        base = merged(jobs()[case.get("job", "plate")], case.get("with", {}))
        if "cutters" in case.get("with", {}) and "T1" in case["with"]["cutters"]:
            base["cutters"] = case["with"]["cutters"]
        setup = _setup(yaml.safe_dump(base))
        if "machine" in case:
            setup = _changed_machine(setup, case["machine"])
        if case.get("coated"):
            setup = _coated(setup)
    program = case["p"].replace("$H", HEAD).replace("$Z", ZIGZAG).replace(" / ", "\n") + "\n"
    options = CheckOptions(simulate=bool(case.get("sim")), cell_mm=0.15, units=case.get("units"))
    return make_context(program.encode(), "case.nc", setup, options)


def _changed_machine(setup, change):
    import dataclasses

    return dataclasses.replace(setup, machine=setup.machine.model_copy(update=change))


def _coated(setup):
    import dataclasses

    cutters = {
        n: dataclasses.replace(f, cutter=f.cutter.model_copy(update={"material": "carbide coated"}))
        for n, f in setup.cutters.items()
    }
    speeds = setup.material.cutting_speed_m_min.model_copy(update={"carbide_coated": None})
    material = setup.material.model_copy(update={"cutting_speed_m_min": speeds})
    return dataclasses.replace(setup, cutters=cutters, material=material)


@cache
def said() -> dict[str, Any]:
    return json.loads(SAID.read_text(encoding="utf-8"))


def asked(code, case):
    """What one rule says about one case, and the whole outcome."""
    ctx = context(case)
    outcome = run_rules(ctx, rules=(RULES[code],))
    text = bytes(ctx.program.data)
    return [told(finding, text) for finding in outcome.findings if finding.code == code], outcome


def unchecked(code, outcome):
    """What one rule could not look at, as a person reads it."""
    return [
        {"not checked": n.what, "because": n.because, "fields": list(n.fields)}
        for n in outcome.not_checked
        if n.code == code
    ]


RULES = {rule.code: rule for rule in all_rules()}


def listed(kind: str):
    return [
        pytest.param(code, case, id=f"{code}-{number}")
        for code, entry in cases().items()
        for number, case in enumerate(entry[kind])
    ]


def test_every_rule_has_cases_both_ways():
    assert set(cases()) == set(RULES)
    for code, entry in cases().items():
        assert entry["fails"] and entry["passes"], code


@pytest.mark.parametrize("code, case", listed("fails"))
def test_found(code, case, request):
    says, outcome = asked(code, case)
    found = [finding for finding in outcome.findings if finding.code == code]
    assert found, [(n.what, n.because) for n in outcome.not_checked]
    if "line" in case:
        assert case["line"] in {finding.line for finding in found}
    if "severity" in case:
        assert case["severity"] in {finding.severity.word for finding in found}
    for finding in found:
        assert finding.fact and finding.action and finding.why and finding.source
        assert finding.severity <= RULES[code].severity
        assert "nan" not in finding.fact.lower().split() and "nan" not in finding.action.lower().split()
    number = request.node.callspec.id
    expected = [dict(one) for one in said()[number]]
    assert unchecked(code, outcome) == [one for one in expected if "not checked" in one]
    for one, was in zip(says, [one for one in expected if "fact" in one], strict=True):
        numbers = [(*some.pop("compared"), *(some.pop("place") or ())) for some in (one, was)]
        for now, then in zip(*numbers, strict=True):
            assert now == then or now == pytest.approx(then, rel=1e-4, abs=1e-6), (numbers, one)
        assert one == was, "python -m tests.preflight.said, if that is what it should say"


@pytest.mark.parametrize("code, case", listed("passes"))
def test_not_found(code, case, request):
    outcome = run_rules(context(case), rules=(RULES[code],))
    assert not [finding.fact for finding in outcome.findings if finding.code == code]
    number = f"{request.node.callspec.id} passes" if case.get("ignore_unchecked") else ""
    assert unchecked(code, outcome) == said().get(number, [])
