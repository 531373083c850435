"""The page of a check: self-contained, escaped, bounded, and true to what was computed."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import zlib
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from millcalc.check.film import MOST_STOCK_BYTES
from millcalc.report import characters
from millcalc.report.page_data import text_parts
from millcalc.report.page_html import report_page
from millcalc.report.sheet import sheet_page
from tests.helpers import looking


class _Page(HTMLParser):
    """Elements with their attributes, and the texts inside script and style."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.raw: dict[str, list[str]] = {"script": [], "style": []}
        self.text: list[str] = []
        self._inside = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag in self.raw:
            self._inside = tag
            self.raw[tag].append("")

    def handle_endtag(self, tag: str) -> None:
        if tag == self._inside:
            self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.raw[self._inside][-1] += data
        else:
            self.text.append(data)


def _data(page: _Page) -> Any:
    return json.loads(page.raw["script"][0])


@pytest.fixture(scope="module")
def bad() -> _Page:
    found = looking.demo("sensor_plate", "bad")
    return _Page(report_page(found))


def test_nothing_is_fetched_from_anywhere(bad: _Page) -> None:
    for tag, attributes in bad.elements:
        assert tag not in ("link", "iframe", "object", "embed", "form", "base"), tag
        for name, value in attributes.items():
            assert not name.startswith("on"), f"{tag} has {name}: no inline handlers"
            assert name != "style", f"{tag} has a style attribute, which the policy forbids"
            if name in ("src", "href", "data", "action"):
                assert value and value.startswith(("#", "data:image/png;base64,")), (tag, name, value)
    assert "http" not in bad.raw["style"][0]


def test_the_policy_allows_this_style_and_this_script_only(bad: _Page) -> None:
    policy = next(a["content"] for t, a in bad.elements if a.get("http-equiv") == "Content-Security-Policy")
    assert policy is not None
    allowed = dict(part.split(" ", 1) for part in policy.split("; "))
    assert allowed["default-src"] == "'none'" and allowed["img-src"] == "data:"

    def sha(text: str) -> str:
        return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode() + "'"

    assert allowed["style-src"] == sha(bad.raw["style"][0])
    assert allowed["script-src"] == sha(bad.raw["script"][1])
    assert [a.get("type") for t, a in bad.elements if t == "script"] == ["application/json", None]


HOSTILE = (
    "<script>alert(1)</script> </script><img src=x onerror=alert(2)> \"&lt; ' <!-- ]]> {{ 7*7 }} \u2028 é"
)


def test_whatever_comes_from_program_and_job_is_text(tmp_path: Path) -> None:
    comment = HOSTILE.replace("(", "[").replace(")", "]")
    text = looking.SLOTS.replace(
        "(Weather station: two slots in the mast bracket)", f"({comment})\n(G99 {comment})"
    )
    text = text.replace("S13200 M3", "S99000 M3").replace("F390", f"F390 ;{comment}")
    job = looking.JOB.replace("mast bracket of the weather station", json.dumps(comment))
    job = job.replace("placed: measured}", f"placed: measured, name: {json.dumps(comment)}}}", 1)
    found = looking.looked(tmp_path, text, job, name=f"{comment}.nc")
    page = _Page(report_page(found))
    tags = [tag for tag, _ in page.elements]
    assert tags.count("script") == 2 and "img" not in tags
    assert all(not name.startswith("on") for _, attributes in page.elements for name in attributes)
    shown = " ".join(page.text)
    assert "<script>alert[1]</script>" in shown and "&lt;" in shown and "{{ 7*7 }}" in shown
    lines = _data(page)["text"]["parts"][0]["texts"]
    assert lines[0] == f"({comment})", "the program's text arrives letter by letter"


def test_the_verdict_says_what_was_and_was_not_checked_and_promises_nothing(tmp_path: Path) -> None:
    found = looking.demo("sensor_plate", "good")
    page = _Page(report_page(found))
    shown = re.sub(r"\s+", " ", " ".join(page.text))
    assert f"in the {len(found.report.checked)} things checked" in shown
    assert f"{len(found.report.not_checked)} more could not be checked" in shown
    assert not re.search(r"\b(safe|safely|guaranteed)\b", shown, re.IGNORECASE)
    bare = looking.looked(tmp_path, "G21 G90\nG0 Z10\nM2\n", None)
    assert not re.search(r"\bsafe\b", report_page(bare).split("<script")[0], re.IGNORECASE)


def test_every_finding_is_on_the_page_with_its_line_and_its_blocks_remedy(bad: _Page) -> None:
    report = looking.demo("sensor_plate", "bad").report
    shown = re.sub(r"\s+", " ", " ".join(bad.text)).lower()
    assert len(report.findings) > 15
    for finding in report.findings:
        assert finding.code.lower() in shown
        assert re.sub(r"\s+", " ", finding.fact.strip().rstrip(".").lower()) in shown
    for block in report.told():
        actions = [report.findings[place].action for place in block.findings]
        for remedy in actions if block.kind == "screws" else [block.remedy]:
            assert re.sub(r"\s+", " ", remedy.strip().rstrip(".").lower()) in shown
    marks = [a["data-number"] for t, a in bad.elements if a.get("class") == "mark"]
    placed = [str(i) for i, f in enumerate(report.findings, 1) if f.place_mm is not None]
    assert marks == placed


def _frames(stock: dict[str, Any]) -> np.ndarray[Any, np.dtype[np.int16]]:
    """Levels of every frame, unpacked as the page's script does it."""
    falls = np.frombuffer(zlib.decompress(base64.b64decode(stock["packed"])), np.uint8)
    falls = falls.reshape(stock["frames"], stock["rows"], stock["columns"]).astype(np.int16)
    return np.asarray(255 - np.cumsum(falls, axis=0))


def test_the_last_moment_is_the_finished_stock_of_the_simulation() -> None:
    found = looking.demo("sensor_plate", "good")
    stock = _data(_Page(report_page(found)))["stock"]
    last = _frames(stock)[-1]
    assert last.min() >= 0
    final = found.ctx.removal.final
    x = stock["x"] + (np.arange(stock["columns"]) + 0.5) * stock["cell"]
    y = stock["y"] + (np.arange(stock["rows"]) + 0.5) * stock["cell"]
    column = np.clip(np.rint((x - final.x0_mm) / final.cell_mm).astype(int), 0, final.height_mm.shape[1] - 1)
    row = np.clip(np.rint((y - final.y0_mm) / final.cell_mm).astype(int), 0, final.height_mm.shape[0] - 1)
    fine = (final.height_mm[np.ix_(row, column)] - final.floor_mm) / (final.top_mm - final.floor_mm)
    off = np.abs(last / 255.0 - fine) > 0.02
    # walls are known to a coarse cell only: the way of all walls is about 850 mm long, 1.2 cells to each side
    walls = 850 / stock["cell"] * 1.2 / last.size
    assert off.mean() < walls, f"{off.mean():.4f} of the cells differ; {walls:.4f} lie at walls"
    removed = float((1 - last / 255.0).sum()) * stock["cell"] ** 2 * 6.0
    assert removed == pytest.approx(float(found.ctx.removal.volume_mm3.sum()), rel=0.02)


def test_packed_stock_is_bounded_and_says_how_coarse_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    from millcalc.check import film
    from millcalc.check.timeline import make_timeline

    found = looking.demo("sensor_plate", "good")
    timeline = make_timeline(found.ctx)
    assert timeline is not None
    whole = film.stock_over_time(found.ctx, timeline)
    assert whole is not None and len(base64.b64decode(whole["packed"])) <= MOST_STOCK_BYTES
    monkeypatch.setattr(film, "MOST_STOCK_BYTES", 12_000)
    small = film.stock_over_time(found.ctx, timeline)
    assert small is not None and len(base64.b64decode(small["packed"])) <= 12_000
    assert small["cell"] > whole["cell"] and small["frames"] < whole["frames"]


def test_a_long_program_is_shown_around_its_findings(tmp_path: Path) -> None:
    body = [f"G1 X{15 + 30 * (i % 2)} F390" for i in range(40_000)]
    body[20_000] = "G1 X15 F39000"
    text = looking.SLOTS.replace("G1 X15 F390\nG0 Z10\nM5", "\n".join(body) + "\nG0 Z10\nM5")
    found = looking.looked(tmp_path, text, None)
    parts = text_parts(found.ctx.program, found.report)
    assert not parts["whole"] and parts["lines"] == found.ctx.program.lines
    lines = {part["from"] + i: line for part in parts["parts"] for i, line in enumerate(part["texts"])}
    assert {1, found.ctx.program.lines} <= set(lines) and len(lines) < 6000
    for number in (1, 2, *sorted(lines)[-3:]):
        assert lines[number] == found.ctx.program.line_text(number)
    for finding in found.report.findings:
        assert finding.line is None or finding.line in lines
    starts = [part["from"] for part in parts["parts"]]
    ends = [part["from"] + len(part["texts"]) for part in parts["parts"]]
    assert all(end < start for end, start in zip(ends[:-1], starts[1:], strict=True)), "parts do not touch"


@pytest.mark.parametrize(
    ("text", "job"),
    [("", None), ("%\n%\n", None), ("(only a comment)\n", "job"), ("G4 P2\nM2\n", "job"), ("G0 Z5\nM2\n", "job"),
     ("G90 G1 X5\n", None), ("\x00\xff\n", None), ("G91 G1 X1 Y1 Z-1 F100\n" * 3, "job")],
)  # fmt: skip
def test_any_program_at_all_gives_a_page(tmp_path: Path, text: str, job: str | None) -> None:
    found = looking.looked(tmp_path, text, looking.JOB if job else None)
    page = _Page(report_page(found))
    assert _data(page)["text"]["lines"] == found.ctx.program.lines
    assert [t for t, _ in page.elements].count("h1") == 1


CORPUS = sorted((Path(__file__).parents[1] / "gcode" / "corpus").glob("*.nc"))


@pytest.mark.parametrize("path", CORPUS[::40], ids=lambda path: str(path.stem))
def test_programs_of_the_corpus_give_page_sheet_and_characters(tmp_path: Path, path: Path) -> None:
    text = path.read_bytes().decode("latin-1")
    for job in (looking.JOB, None):
        found = looking.looked(tmp_path, text, job)
        assert report_page(found).endswith("</html>")
        assert sheet_page(found).endswith("</html>")
        assert all(len(line) <= 78 for line in characters.picture(found))


def test_inches_reach_the_page(tmp_path: Path) -> None:
    found = looking.looked(tmp_path)
    inch = looking.looked(tmp_path, options=looking.CheckOptions(units="in"))
    metric, other = (_data(_Page(report_page(f))) for f in (found, inch))
    feed, feed_in = (next(s for s in d["strips"] if s["key"] == "feed") for d in (metric, other))
    assert (feed["unit"], feed_in["unit"]) == ("mm/min", "in/min")
    highest, highest_in = (max(v for v in s["high"] if v is not None) for s in (feed, feed_in))
    assert highest_in == pytest.approx(highest / 25.4, rel=0.01)
    assert other["length"]["unit"] == "in"
