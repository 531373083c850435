"""The whole answer: proposals pass the check's own rules, loose pieces are held, given screws are judged."""

from __future__ import annotations

import dataclasses
import math
import os
from itertools import pairwise

import numpy as np
import pytest
import yaml

from millcalc.check.prepare import CheckOptions, make_context
from millcalc.errors import InputError
from millcalc.holding.after import checked_again, job_after, lines_to_paste
from millcalc.holding.find import Wish, find_hold_down
from millcalc.holding.find_regions import find_regions
from millcalc.job import build_setup
from millcalc.job.models import Screw
from millcalc.job.read import parse_job
from millcalc.preflight import run_rules
from millcalc.stock.left import Heightfield
from tests.holding.cases import HEAD, context, plate, program, rectangle, ring, screw

OUTLINE = program(rectangle(40, 30, 120, 80, 3.0))
PIECES = program(rectangle(90, 25, 140, 85, 6.3), ring(45, 55, 25, 6.3))
MEASURED = Wish(placed="measured", fresh=True)


def again(text: str, job: dict, answer) -> list:
    """Findings of the whole check on the job with the proposed screws, the cut simulated anew."""
    setup = build_setup(job_after(parse_job(yaml.safe_dump(job)), answer))
    ctx = make_context(text.encode(), "part.nc", setup, CheckOptions(cell_mm=0.25))
    return list(run_rules(ctx).findings)


@pytest.mark.parametrize("text", [OUTLINE, PIECES], ids=["outline", "pieces"])
@pytest.mark.parametrize("placed", ["measured", "guessed"])
def test_proposal_passes_the_check(text: str, placed: str) -> None:
    job = plate()
    answer = find_hold_down(context(text, job), Wish(placed=placed, thread_mm=12.0))
    assert len(answer.proposal) >= 4 and answer.problems == ()
    found = again(text, job, answer)
    wrong = [f for f in found if f.code.startswith(("SCREW", "LOOSE")) and f.severity.word != "note"]
    assert not wrong, [(f.code, f.fact) for f in wrong]
    assert not [f for f in found if f.code == "FORCE-06"]
    ctx = context(text, job)
    assert all(f.severity.word == "note" for f in checked_again(ctx, answer))


def test_without_the_proposal_the_check_finds_the_pieces() -> None:
    """The case above is not empty: with screws in the sheet only, both pieces come free."""
    job = plate(screws=[screw(8, 8), screw(152, 8), screw(152, 102), screw(8, 102)])
    setup = build_setup(parse_job(yaml.safe_dump(job)))
    ctx = make_context(PIECES.encode(), "part.nc", setup, CheckOptions(cell_mm=0.25))
    assert sum(f.count for f in run_rules(ctx).findings if f.code == "LOOSE-01") == 2


def test_each_loose_piece_gets_a_screw() -> None:
    answer = find_hold_down(context(PIECES), MEASURED)
    assert len(answer.pieces) == 3
    assert all(piece.held and piece.screws >= 1 for piece in answer.pieces)
    # the path's 50 by 60 mm and 50 mm across, less a cutter of 6 mm, to a cell
    sizes = [160.0, 110.0, 44.0, 54.0, 44.0, 44.0]
    assert [side for piece in answer.pieces for side in piece.size_mm] == pytest.approx(sizes, abs=0.6)
    assert [piece.turns for piece in answer.pieces] == [piece.screws == 1 for piece in answer.pieces]
    inside_disc = [p for p in answer.proposal if math.hypot(p.screw.x_mm - 45, p.screw.y_mm - 55) < 22 - 4]
    inside_box = [p for p in answer.proposal if 93 < p.screw.x_mm < 137 and 28 < p.screw.y_mm < 82]
    assert inside_disc and inside_box
    assert all(p.in_part for p in (*inside_disc, *inside_box))
    sheet = [p for p in answer.proposal if p.piece == 0]
    assert len(sheet) >= 4 and not any(p.in_part for p in sheet)


def test_part_on_tabs_gets_no_screw() -> None:
    """Four tabs 2 mm high join the part to the sheet: screws stand in the waste only."""
    tabs = []
    corners = [(40, 30), (120, 30), (120, 80), (40, 80), (40, 30)]
    for (x0, y0), (x1, y1) in pairwise(corners):
        for share, z in ((0.4, -6.3), (0.4, -4.0), (0.6, -4.0), (0.6, -6.3), (1.0, -6.3)):
            tabs.append(f"G1 X{x0 + share * (x1 - x0):.2f} Y{y0 + share * (y1 - y0):.2f} Z{z} F400")
    text = program(rectangle(40, 30, 120, 80, 4.0), ["G1 Z-6.3 F100", *tabs])
    answer = find_hold_down(context(text), MEASURED)
    assert len(answer.pieces) == 1 and answer.pieces[0].held
    for proposed in answer.proposal:
        x, y = proposed.screw.x_mm, proposed.screw.y_mm
        assert not (37 < x < 123 and 27 < y < 83) and not proposed.in_part


def test_spares_are_true_and_places_lie_inside() -> None:
    """Every proposed head keeps its distance by the closed form of a rectangle cut with a 6 mm cutter."""
    answer = find_hold_down(context(OUTLINE), Wish(placed="guessed"))
    for proposed in answer.proposal:
        x, y = proposed.screw.x_mm, proposed.screw.y_mm
        assert 5.0 - 1e-9 <= x <= 155.0 + 1e-9 and 5.0 - 1e-9 <= y <= 105.0 + 1e-9
        dx, dy = max(40 - x, 0.0, x - 120), max(30 - y, 0.0, y - 80)
        outside = math.hypot(dx, dy)
        gap = (outside if outside > 0 else min(x - 40, 120 - x, y - 30, 80 - y)) - 3.0 - 4.0
        assert proposed.nearest.gap_mm == pytest.approx(gap, abs=1e-5)
        assert proposed.nearest.gap_mm >= 3.0


def test_given_screw_in_the_way_and_its_moves() -> None:
    """4 mm head, 3 mm cutter radius, 1 mm kept: beside the line x = 40 a screw must stand at 32 or less."""
    job = plate(screws=[screw(36, 55), screw(8, 8), screw(152, 102)])
    answer = find_hold_down(context(OUTLINE, job), Wish(placed="measured"))
    first, second, third = answer.verdicts
    assert not first.clear and second.clear and third.clear and not answer.fine
    assert first.nearest.gap_mm == pytest.approx(-3.0, abs=1e-5)
    assert first.smallest is not None and first.smallest.to_mm == (pytest.approx(32.0), pytest.approx(55.0))
    assert first.along[0].to_mm == (pytest.approx(32.0), pytest.approx(55.0))
    assert first.along[0].until_mm == pytest.approx(5.0)  # 4 mm of head and 1 mm from the stock's edge
    assert [p.given for p in answer.proposal].count(True) == 2
    kept = {(p.screw.x_mm, p.screw.y_mm) for p in answer.proposal if p.given}
    assert kept == {(8.0, 8.0), (152.0, 102.0)}


def test_a_proposal_in_the_way_is_found_by_the_rules() -> None:
    """What `checked_again` looks at are the screws of the answer: one put into the path at (40, 55) is hit."""
    ctx = context(OUTLINE)
    answer = find_hold_down(ctx, MEASURED)
    wrong = answer.proposal[0].screw.model_copy(update={"x_mm": 40.0, "y_mm": 55.0})
    moved = (dataclasses.replace(answer.proposal[0], screw=wrong), *answer.proposal[1:])
    found = checked_again(ctx, dataclasses.replace(answer, proposal=moved))
    assert [f.severity.word for f in found if f.code == "SCREW-01"] == ["stop"]


def test_a_thread_longer_than_the_board_on_metal_is_told() -> None:
    job = plate(screws=[screw(8, 8, depth_in_bed="15 mm"), screw(152, 8)])
    answer = find_hold_down(context(OUTLINE, job), Wish(placed="measured", count=4, thread_mm=10.0))
    long, short = answer.verdicts
    assert long.notes == ("15 mm of thread in a board of 12 mm on metal",) and short.notes == ()


def test_clamp_in_the_way() -> None:
    """A bar over the left edge reaching to x = 38: cutter at 37, so 1 mm in it; 2 mm back keep 1 mm."""
    bar = {"x_min": "-20 mm", "x_max": "38 mm", "y_min": "40 mm", "y_max": "60 mm", "height": "5 mm"}
    answer = find_hold_down(context(OUTLINE, plate(clamps=[bar])), Wish(placed="measured"))
    (verdict,) = answer.verdicts
    assert verdict.kind == "clamp" and not verdict.clear
    assert verdict.nearest.gap_mm == pytest.approx(-1.0, abs=1e-5)
    assert verdict.smallest is not None and verdict.smallest.dx_mm == pytest.approx(-2.0, abs=0.11)


def test_clamp_runs_against_the_closed_form() -> None:
    """A clamp 20 wide and 5 high reaching 26 mm over the front: cutter's near edge at y = 27, 1 mm kept."""
    answer = find_hold_down(context(OUTLINE), Wish(placed="measured", clamp_mm=(20.0, 26.0, 5.0)))
    front = [run for run in answer.clamp_runs if run.edge == "front"]
    assert [(run.low_mm, run.high_mm) for run in front] == [(10.0, 150.0)]
    answer = find_hold_down(context(OUTLINE), Wish(placed="measured", clamp_mm=(20.0, 26.5, 5.0)))
    front = [run for run in answer.clamp_runs if run.edge == "front"]
    # beside the outline's corner (40, 30) the box's corner keeps sqrt(4^2 - 3.5^2) = 1.94 mm off in x
    assert [(run.low_mm, run.high_mm) for run in front] == [(10.0, 28.0), (132.0, 150.0)]


def test_count_is_kept() -> None:
    for count in (1, 3, 7):
        answer = find_hold_down(context(PIECES), dataclasses.replace(MEASURED, count=count))
        assert len(answer.proposal) == count
    assert any("no screw is left for it" in text for text in
               find_hold_down(context(PIECES), dataclasses.replace(MEASURED, count=2)).problems)  # fmt: skip


def test_more_force_asks_for_more_screws() -> None:
    """A higher safety factor never needs fewer screws; an impossible one is said, not hidden."""
    ctx = context(OUTLINE)
    counts = []
    for safety in (1.0, 5.0, 20.0):
        answer = find_hold_down(ctx, dataclasses.replace(MEASURED, safety=safety))
        counts.append(len(answer.proposal))
        assert answer.problems or (answer.load_n is not None and answer.holds_n is not None
                                   and answer.load_n <= answer.holds_n)  # fmt: skip
    assert counts == sorted(counts) and counts[-1] > counts[0]
    assert find_hold_down(ctx, dataclasses.replace(MEASURED, safety=100.0)).problems


def test_whole_surface_cut_leaves_no_place() -> None:
    lines = ["G0 X-5 Y-5", "G1 Z-0.3 F200"]
    for k, y in enumerate(np.arange(-5, 116, 4.0)):
        lines += [f"G1 X{165 if k % 2 == 0 else -5} F600", f"G1 Y{y + 4}"]
    answer = find_hold_down(context(program(lines), cell_mm=0.5), MEASURED)
    assert not answer.proposal and not answer.fine
    assert any("no place for a screw" in text for text in answer.problems)


def test_program_that_cuts_nothing() -> None:
    answer = find_hold_down(context(program(["G0 X50 Y50", "G1 X100 F600"])), MEASURED)
    assert len(answer.proposal) == 4 and answer.span_mm is None and answer.load_n is None
    assert all(p.nearest.spare_mm is None for p in answer.proposal)


def test_thin_plate_is_held_closer() -> None:
    """In 1 mm sheet no cut may lie farther than 25 mm from a screw, as SCREW-09 judges."""
    job = plate(stock={"size_x": "160 mm", "size_y": "110 mm", "thickness": "1 mm"})
    text = program(rectangle(40, 30, 120, 80, 0.5, step=0.25))
    answer = find_hold_down(context(text, job), MEASURED)
    assert answer.span_limit_mm == 25.0
    assert answer.span_mm is not None and answer.span_mm <= 25.0 and len(answer.proposal) > 4
    assert not [f for f in again(text, job, answer) if f.code == "SCREW-09"]


def test_screw_beside_the_stock() -> None:
    """A head of 4 mm radius 3 mm beside the edge still presses on it; 5 mm beside it holds nothing and goes."""
    job = plate(screws=[screw(-3, 50), screw(-5, 80)])
    answer = find_hold_down(context(OUTLINE, job), Wish(placed="measured", count=4))
    near, far = answer.verdicts
    assert "reaches over it" in near.notes[0] and "holds nothing" in far.notes[0]
    assert [p.screw.x_mm for p in answer.proposal if p.given] == [-3.0]
    assert len(answer.proposal) == 4


def test_more_screws_than_room() -> None:
    """A strip of stock 12 mm wide has no room for fifty heads, and that is said."""
    job = plate(stock={"size_x": "60 mm", "size_y": "12 mm", "thickness": "6 mm"})
    answer = find_hold_down(
        context(program(["G0 X5 Y5", "G1 X9 F600"]), job), dataclasses.replace(MEASURED, count=50)
    )
    # heads 8 mm wide 12 mm apart on the 50 mm that are left: five at most
    assert 3 <= len(answer.proposal) <= 5
    assert any("find room" in text for text in answer.problems)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_lines_read_back(units: str) -> None:
    """The lines to paste are YAML of the same screws; what holds nothing stays in them."""
    job = plate(units=units, screws=[screw(8, 8, name='the "first": one'), screw(-30, 5, holds=False)])
    model = parse_job(yaml.safe_dump(job))
    ctx = make_context(OUTLINE.encode(), "p", build_setup(model), CheckOptions(cell_mm=0.5))
    answer = find_hold_down(ctx, Wish(placed="measured"))
    text = yaml.safe_dump({k: v for k, v in job.items() if k != "screws"}) + "\n".join(
        lines_to_paste(model, answer)
    )
    back = parse_job(text).screws
    want = job_after(model, answer).screws
    assert back is not None and want is not None and len(back) == len(want)
    for one, two in zip(back, want, strict=True):
        for name in Screw.model_fields:
            a, b = getattr(one, name), getattr(two, name)
            assert a == (pytest.approx(b, abs=1e-4) if isinstance(b, float) else b), name
    assert sum(not s.holds for s in back) == 1 and back[0].name == 'the "first": one'


@pytest.mark.parametrize(
    ("text", "job", "wish", "word"),
    [
        (OUTLINE.replace("T1 M6", "T5 M6"), plate(cutters={"T1": {"cutter": "flat-6mm-1f"},
         "T2": {"cutter": "flat-6mm-1f"}}), Wish(), "simulated"),
        (OUTLINE.replace("G0 Z20\nM5", "T5 M6\nG1 Z1 F300\nG0 Z20\nM5"), plate(), Wish(), "T5"),
        (OUTLINE, plate(zero={"xy": "front-left"}), Wish(), "zero.z"),
        (OUTLINE, plate(), Wish(count=0), "--count"),
        (OUTLINE, plate(), Wish(safety=float("nan")), "--safety"),
        (OUTLINE, plate(), Wish(size="M99 pan"), "--screw"),
        (OUTLINE, plate(), Wish(thread_mm=20.0), "--thread"),
    ],
)  # fmt: skip
def test_refused_in_words(text: str, job: dict, wish: Wish, word: str) -> None:
    with pytest.raises(InputError, match=word):
        find_hold_down(context(text, job, cell_mm=0.5), wish)


def test_regions_by_hand() -> None:
    """A 6 x 5 field: a frame, a cut ring of one cell, and one cell inside; a thin cell joins piece, not rim."""
    height = np.zeros((5, 6), np.float32)
    height[1:4, 1:4] = -6.0
    height[2, 2] = 0.0
    field = Heightfield(0.5, 0.5, 1.0, height, -6.0, 0.0)
    regions = find_regions(field, 0.0)
    assert len(regions.cells) == 1  # a single cell is a sliver
    assert regions.slivers == 1 and regions.at_edge.tolist() == [True]
    height = np.kron(height, np.ones((4, 4), np.float32))
    field = Heightfield(0.125, 0.125, 0.25, height, -6.0, 0.0)
    regions = find_regions(field, 0.0)
    assert regions.cells.tolist() == [(30 - 9) * 16, 16]
    assert regions.look_up(np.array([[2.5, 2.5], [0.5, 0.5], [1.5, 2.5], [-3.0, 0.0]]))[0].tolist() == [
        1,
        0,
        -1,
        -1,
    ]
    assert regions.area_mm2(1) == pytest.approx(1.0)
    assert regions.box_mm(1) == pytest.approx((2.0, 3.0, 2.0, 3.0))
    height[8:12, 4:8] = -4.5  # a tab of a quarter of the thickness
    regions = find_regions(Heightfield(0.125, 0.125, 0.25, height, -6.0, 0.0), 0.0)
    piece, rim = regions.look_up(np.array([[2.5, 2.5], [0.5, 0.5]]))
    assert piece.tolist() == [0, 0] and rim.tolist() == [False, True]


@pytest.mark.skipif(os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"), reason="times compiled code")
def test_long_program_in_seconds() -> None:
    """A hundred thousand motions: the search alone, kernels compiled, in a few seconds on any machine."""
    import time

    lines = [*HEAD, "G0 X20 Y20", "G1 Z-0.2 F200"]
    for k, y in enumerate(np.arange(20, 90, 0.35)):
        xs = np.linspace(20, 140, 500)[:: 1 if k % 2 == 0 else -1]
        lines += [f"G1 X{x:.3f} Y{y:.3f} Z{-0.3 - 0.2 * math.sin(x / 7):.3f} F600" for x in xs]
    ctx = context("\n".join([*lines, "G0 Z20", "M30"]) + "\n", cell_mm=1.0)
    assert len(ctx.program.motions) > 100_000
    begin = time.perf_counter()
    answer = find_hold_down(ctx, MEASURED)
    assert time.perf_counter() - begin < 8.0
    assert len(answer.proposal) >= 4
