"""Words, codes and sources are one tap away, and what nobody knows is said so."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest

from millcalc.check.codes import known_codes
from tests.page.doors import Visitor, make_door


@pytest.fixture(scope="module")
def me(tmp_path_factory: pytest.TempPathFactory) -> Visitor:
    return Visitor(make_door(tmp_path_factory.mktemp("page")))


def told(answer: Any) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.text)))


def test_every_code_and_a_word_is_explained(me: Visitor) -> None:
    for code in known_codes():
        assert f"<h1>{code}:" in me.get(f"/explain/{code}").text
    assert "<h1>chip load</h1>" in me.get("/explain", params={"what": "chip load"}).text
    assert "Nothing goes by that name" in told(me.get("/explain/<script>"))


def test_a_table_row_tells_the_source_of_every_number(me: Visitor) -> None:
    page = told(me.get("/tables/materials/al-6082-t6"))
    assert "kc11_n_mm2" in page and "published" in page
    for path in ("/tables/materials/none", "/tables/shop/x", "/tables/materials/..%2f..%2fetc"):
        assert me.get(path).status_code == 404
