"""Makers and sellers are cited by kind and year; their names stand in addresses only, and on no screen."""

from __future__ import annotations

import re
from hashlib import sha256
from pathlib import Path

import pytest

from millcalc.tables import load_sources

ROOT = Path(__file__).parents[2]
# First digits of the SHA-256 of each name in lower case, so that this file names none of them
NAMES = frozenset(
    re.findall(
        r"\w+",
        "01140820db 0600c79833 0650b92e4d 11c38dc22a 15c9175290 1b1e01218c 25045a1dad 250e2fdbfa 256951dcee "
        "2645a36c61 28a52f8297 2f30e00a3f 30e363d3e8 320d597682 3afe188046 3b3e64e780 3e78e1bd34 41cb63a526 "
        "44a8058568 4b9b8ac655 4d13e1dbe7 56381cf8b1 5b1b400dee 5c0d67e0a4 6225125b5a 63bab5bdce 651b8ff346 "
        "678c44fa91 6947ac5df3 696e7bf2bf 6f4c691ff4 716c618208 71ffac2d9e 73595490bb 79348d70d2 7afd518846 "
        "82eed38e4b 8952682601 8a72266588 8d6db5520e 8da63c994a 8dff8287e6 966c12b033 977817f6f6 984f7b4489 "
        "98558703d2 a06ca40d9f a25fa0e307 a370801d0f a3f429d73e a9ef356a4b ad882468ea c9fd53f326 cbd65613d8 "
        "cd62611dca cebdc0ac5e d54b2245a2 d8db1708af d90f2f1781 dc9aa932c6 e360ee4319 e365c7d095 f5d36c673c "
        "fc84823f75 feb006ec69 ",
    )
)
ADDRESS = re.compile(r"https?://\S+|\bdoi \S+|\b[\w.-]+\.(?:com|co\.uk|org|info)\b\S*")
WORD = re.compile(r"[A-Za-z][A-Za-z0-9-]*")
READ = ("README.md", "DEVELOPERS.md", "CHANGELOG.md", "docs/*.md", "demo_jobs/**/*.md", "materials/**/*.*",
        "millcalc/**/*.py", "millcalc/**/*.html.j2", "millcalc/**/*.yaml", "tests/**/*.py", "tests/**/*.yaml",
        "benchmarks/*.py")  # fmt: skip


def makers(text: str) -> set[str]:
    """Names of makers in a text, addresses left out."""
    words = {word.lower() for word in WORD.findall(ADDRESS.sub(" ", text))}
    return {word for word in words if sha256(word.encode()).hexdigest()[:10] in NAMES}


@pytest.mark.parametrize("pattern", READ)
def test_no_maker_is_named(pattern: str) -> None:
    files = [path for path in ROOT.glob(pattern) if path.is_file() and "__pycache__" not in path.parts]
    assert files
    named = {str(path.relative_to(ROOT)): makers(path.read_text(encoding="utf-8")) for path in files}
    assert not {name: found for name, found in named.items() if found}


def test_a_name_is_found_but_not_in_an_address() -> None:
    name = "grob" + "l"[:0]  # not a name of the list
    assert not makers(name) and not makers("https://docs.example.org/wid" + "ia/x")
    assert makers("the catalogue of Wid" + "ia, 2018") == {"wid" + "ia"}


def test_a_published_source_says_when_and_where() -> None:
    for key, source in load_sources().items():
        if source.kind == "published":
            where = re.search(
                r"https?://|doi 10|\.(?:com|co\.uk)|not kept|pp?\. \d|Directive|brochure|tables",
                source.reference,
            )
            assert where, f"{key}: {source.reference}"
            if "catalogue" in source.reference or "chart" in source.reference.lower():
                assert re.search(r"\b(?:19|20)\d\d|undated", source.reference), key
