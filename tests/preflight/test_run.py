"""How findings are gathered: grouping, order, acceptance, and what stays unchecked."""

from __future__ import annotations

import re

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from millcalc.check.build import build_report
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.check.run import look_over
from millcalc.findings import Finding, Severity, Span
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.job.setup import Box
from millcalc.preflight import all_rules, run_rules
from millcalc.preflight.needs import NEEDS
from millcalc.preflight.order import FAMILY_ORDER, grouped, sort_key
from millcalc.preflight.registry import Rule, rule
from millcalc.report.check_json import check_json
from tests.preflight.test_cases import CASES, HEAD, jobs

PLUNGE = HEAD.replace(" / ", "\n") + "\nG1 Z-1 F60\nG1 X50 F300\n"


def run(text: str, setup=None, **options):
    ctx = make_context(text.encode(), "x.nc", setup, CheckOptions(simulate=False, **options))
    return run_rules(ctx)


def plate():
    return build_setup(parse_job(yaml.safe_dump(jobs()["plate"])))


def test_equal_findings_are_told_as_one():
    many = [
        Finding("FEED-03", Severity.STOP, f"{k}", "slower", spans=(Span(k),), measured=float(k), limit=1.0)
        for k in range(2, 12)
    ]
    (one,) = grouped(many)
    assert one.count == 10 and one.last_line == 11 and one.fact == "11"


def test_different_actions_stay_apart():
    pair = [Finding("FEED-03", Severity.STOP, "a", action) for action in ("one", "two")]
    assert len(grouped(pair)) == 2


def test_the_crash_comes_before_the_slow_job():
    finding = Finding("TIME-01", Severity.NOTE, "long")
    crash = Finding("SCREW-01", Severity.STOP, "bang", spans=(Span(90),))
    slow = Finding("FEED-04", Severity.STOP, "rubs", spans=(Span(2),))
    assert [f.code for f in sorted([finding, slow, crash], key=sort_key)] == [
        "SCREW-01",
        "FEED-04",
        "TIME-01",
    ]


def test_every_family_has_its_place_in_the_order():
    assert {r.family for r in all_rules()} <= set(FAMILY_ORDER)


def test_a_long_program_reads_as_few_findings():
    lines = [*HEAD.split(" / "), "G0 Z1", "G1 Z-2 F60"]
    lines += [f"G1 X{20 + 50 * (k % 2)} Y{20 + k / 500:.3f} F9000" for k in range(20_000)]
    outcome = run("\n".join([*lines, "G0 Z5", "M5", "M30", ""]), plate())
    assert len(outcome.findings) < 20
    feed = next(f for f in outcome.findings if f.code == "FEED-03")
    assert feed.count == 20_000


def test_comment_job_and_run_accept_a_rule():
    setup = plate()
    code = "RAPID-07"
    assert code in {f.code for f in run(PLUNGE, setup).findings}
    by_comment = run(PLUNGE + "(millcalc: accept RAPID-07: parked by hand)\n", setup)
    assert code not in {f.code for f in by_comment.findings}
    assert by_comment.quieted[0].acceptance.reason == "parked by hand"
    assert re.match(r"program line \d+", by_comment.quieted[0].acceptance.origin)
    by_run = run(PLUNGE, setup, quiet={"rapid-07": "parked by hand"})
    assert by_run.quieted[0].acceptance.origin == "this run"
    job = yaml.safe_load(yaml.safe_dump(jobs()["plate"]))
    job["quiet"] = [{"code": code, "reason": "parked by hand"}]
    by_job = run(PLUNGE, build_setup(parse_job(yaml.safe_dump(job))))
    assert by_job.quieted[0].acceptance.origin == "job file"


@pytest.mark.parametrize(
    "comment", ["accept RAPID-07", "accept RAPID-07: ", "accept everything: yes", "please"]
)
def test_an_acceptance_without_a_reason_counts_for_nothing(comment):
    outcome = run(PLUNGE + f"(millcalc: {comment})\n", plate())
    codes = {f.code for f in outcome.findings}
    assert "RAPID-07" in codes and "QUIET-01" in codes


def test_an_unknown_code_is_said():
    outcome = run(PLUNGE, plate(), quiet={"SCREWS-99": "because"})
    assert any(f.code == "QUIET-01" and "SCREWS-99" in f.fact for f in outcome.findings)


def test_an_idle_acceptance_is_reported():
    outcome = run(PLUNGE, plate(), quiet={"SPIN-04": "left-hand cutter"})
    assert [a.code for a in outcome.idle] == ["SPIN-04"]


def test_a_code_is_registered_once():
    with pytest.raises(ValueError, match="twice"):
        rule("MODE-01", Severity.NOTE, "again", what="nothing")(lambda ctx: [])


@pytest.mark.parametrize(
    "moves",
    [
        "G2 X30 Y20 I5 Z#5 F300",
        "G28 Z0\nG3 X20 Y20 I5",
        "G20\nG1 X0\nG2\nG1 X0 F0",
        "G0 X-50 Y-50\nG1 Z-1 F100\nG1 Z-1 F0",
    ],
)
def test_unknown_places_and_motions_without_length_break_no_rule(moves):
    report = look_over((PLUNGE + moves + "\n").encode(), "x.nc", plate(), CheckOptions(cell_mm=0.5)).report
    assert not report.failed and report.findings


def test_an_arc_from_an_unknown_place_leaves_the_report_standing():
    report = look_over(b"G0 Z5\nG2 Z-6 R4 X#1\n", "x.nc", plate(), CheckOptions(simulate=False)).report
    assert not report.failed and "RAPID-03" in {f.code for f in report.findings} | set(report.checked)


def test_a_rule_is_given_what_it_asks_for_and_nothing_of_another_type():
    def asks(ctx: object, machine: Box) -> list[object]:
        return []

    with pytest.raises(ValueError, match="XX-01 asks for machine: 'Box'"):
        rule("XX-01", Severity.NOTE, "toy", what="nothing")(asks)
    by_code = {entry.code: entry for entry in all_rules()}
    assert by_code["FORCE-07"].given == ("machine", "removal")
    assert set(by_code["FORCE-07"].given) <= set(by_code["FORCE-07"].needs)


def test_a_rule_that_breaks_down_leaves_the_report_standing():
    def broken(ctx):
        yield Finding("XX-02", Severity.STOP, "never told")
        raise ZeroDivisionError("float division by zero")

    toy = Rule("XX-02", Severity.STOP, "toy", (), "what the toy looks at", broken)
    ctx = make_context(PLUNGE.encode(), "x.nc", plate(), CheckOptions(simulate=False))
    whole = run_rules(ctx)
    outcome = run_rules(ctx, rules=(*all_rules(), toy))
    assert outcome.findings == whole.findings and not whole.failed
    assert outcome.failed == ("XX-02",) and "XX-02" not in outcome.checked
    (told,) = [entry for entry in outcome.not_checked if entry.code == "XX-02"]
    assert told.because == "this rule could not judge: float division by zero; please report it"
    report = build_report(ctx, outcome)
    assert report.exit_code("stop") == 3 and report.failed == ("XX-02",)


STANDS = PLUNGE + "G1 Y30 F{feed}\nG1 X20 F300\nG0 Z5\nM5\nM30\n"


@pytest.mark.parametrize("feed", ["0", "#100", "[#5 * 0]"])
def test_a_feed_of_zero_is_a_finding_and_the_rest_is_judged(feed):
    outcome = run(STANDS.format(feed=feed), plate())
    (zero,) = [f for f in outcome.findings if f.code == "FEED-01"]
    assert zero.severity is Severity.STOP and zero.fact == "feed is zero: the machine stands in the cut"
    assert zero.line == 8 and not outcome.failed
    said = {n.code: n.because for n in outcome.not_checked}
    for code in ("DEPTH-01", "FEED-03", "FEED-04"):
        assert "unknown or zero; judged: 86 % of its cutting length" in said[code], code
    assert not {"DEPTH-01", "FEED-03", "FEED-04"} & set(outcome.checked)


def test_every_need_is_known_and_every_rule_documented():
    for entry in all_rules():
        assert set(entry.needs) <= set(NEEDS), entry.code
        doc = entry.doc
        assert all((doc.summary, doc.flags, doc.why, doc.wrong, doc.right, doc.limits, doc.source)), (
            entry.code
        )
        assert re.fullmatch(r"[A-Z]+-\d\d", entry.code)
    assert len(all_rules()) >= 60


def test_without_a_job_every_rule_is_either_checked_or_listed():
    outcome = run(PLUNGE)
    listed = {entry.code for entry in outcome.not_checked}
    assert listed | set(outcome.checked) == {r.code for r in all_rules()}
    assert not listed & set(outcome.checked)


def _without(job: dict, path: tuple[str, ...]) -> dict:
    out = yaml.safe_load(yaml.safe_dump(job))
    place = out
    for key in path[:-1]:
        place = place.get(key, {})
    place.pop(path[-1], None)
    return out


PATHS = [
    ("machine",), ("material",), ("stock",), ("stock", "size_x"), ("stock", "thickness"), ("zero",), ("zero", "xy"),
    ("zero", "z"), ("bed",), ("screws",), ("clamps",), ("cutters",), ("cooling",), ("position",), ("controller",),
    ("stock", "thickness_spread"), ("bed", "spoilboard"), ("bed", "flatness"), ("bed", "wood_density"),
]  # fmt: skip


@settings(max_examples=12, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sets(st.sampled_from(PATHS), max_size=6))
def test_a_missing_fact_is_never_fine(paths):
    """A rule that found something with all facts either still finds it, or says what it could not check."""
    job = jobs()["plate"]
    for path in paths:
        job = _without(job, path)
    setup = build_setup(parse_job(yaml.safe_dump(job) if job else "{}"))
    text = PLUNGE + "G1 Z-9\nG0 X5 Y5\nG0 X140 Y5\n"
    full = run(text, plate())
    less = run(text, setup)
    quiet = {f.code for f in full.findings} - {f.code for f in less.findings}
    assert quiet <= {entry.code for entry in less.not_checked} | {"TRAVEL-06"}
    assert not full.failed and not less.failed
    report = look_over(text.encode(), "x.nc", setup, CheckOptions(simulate=False)).report
    check_json(report)


WORDS = st.sampled_from(
    ["G0", "G1", "G2", "G3", "G4 P1", "G28 Z0", "G90", "G91", "G20", "G21", "G92 X1", "G54", "G55", "G53 G0", "G43 H1",
     "G81 Z-1 R1", "G80", "G95", "G94", "G18", "G17", "M3 S9000", "M4", "M5", "M6", "T1", "T2", "M0", "M8", "M49",
     "X5", "X-200", "Y7.5", "Z-1", "Z-20", "Z5", "I1", "J-2", "R4", "F100", "F0", "F#100", "S0", "F90000",
     "S30000", "A9", "(D=6)",
     "(millcalc: accept FEED-01: x)", "%", "/"]
)  # fmt: skip


@settings(max_examples=40, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.lists(WORDS, max_size=6).map(" ".join), max_size=25), st.booleans())
def test_any_mixture_of_words_ends_in_a_report(lines, with_job):
    setup = plate() if with_job else None
    report = look_over("\n".join(lines).encode(), "x.nc", setup, CheckOptions(simulate=False)).report
    check_json(report)
    assert not report.failed
    codes = {f.code for f in report.findings} | set(report.checked) | {n.code for n in report.not_checked}
    assert {r.code for r in all_rules()} <= codes | {q.finding.code for q in report.quieted}


@settings(max_examples=40, deadline=None, database=None)
@given(st.binary(max_size=400))
def test_any_bytes_end_in_a_report(data):
    check_json(look_over(data, "x.nc", None).report)


@settings(max_examples=8, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.lists(WORDS, max_size=6).map(" ".join), max_size=25))
def test_any_mixture_can_be_simulated(lines):
    report = look_over("\n".join(lines).encode(), "x.nc", plate(), CheckOptions(cell_mm=0.5)).report
    check_json(report)
    assert not report.failed, [n.because for n in report.not_checked if n.code in report.failed]


def test_case_folder_is_there():
    assert len(list(CASES.glob("*.yaml"))) == 17


def test_a_tab_at_an_unknown_place_is_still_judged():
    """An arc without a centre leaves the place unknown; the height of the tab after it is known."""
    lines = ["G1 X15", "G1 Y15", "G1 Z-6.2 F300", "G1 X47 Z-5.9", "G3 X0 Y.5", "G1 X53", "G1 X54 Z-6.2"]
    outcome = run(HEAD.replace(" / ", "\n") + "\n" + "\n".join(lines) + "\n", plate())
    assert not [one.because for one in outcome.not_checked if "could not judge" in one.because]
    assert "LOOSE-02" in {finding.code for finding in outcome.findings}
