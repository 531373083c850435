"""Standard screws: names as written, and the tables they come from."""

from __future__ import annotations

import pytest

from millcalc.job.screws import load_screws, screw_size


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("M4 pan", "M4 pan"),
        ("m4x20 pan head", "M4 pan"),
        ("M3.5 pan-head", "M3.5 pan"),
        ("M5x16 countersunk", "M5 countersunk"),
        ("M6 socket cap", "M6 socket"),
        ("wood 4", "wood 4.0"),
        ("wood 4.0", "wood 4.0"),
        ("4.0x30 wood screw", "wood 4.0"),
        ("Wood 4 x 30 round", "wood 4.0 round"),
    ],
)
def test_sizes_are_found_as_people_write_them(text: str, name: str) -> None:
    assert screw_size(text).name == name


@pytest.mark.parametrize(
    ("text", "near"), [("M4", "M4 pan"), ("M7 pan", "M6 pan"), ("", "one of"), ("wood 4 pan", "wood 4.0")]
)
def test_others_name_the_closest(text: str, near: str) -> None:
    with pytest.raises(ValueError, match=near):
        screw_size(text)


def test_the_table_is_whole() -> None:
    """Covers M3-M8 in four head forms and wood screws 3.0-6.0; every row names a source of the file."""
    table = load_screws()
    names = [size.name for size in table.screws]
    assert len(set(names)) == len(names)
    for size in ("M3", "M4", "M5", "M6", "M8"):
        for kind in ("pan", "countersunk", "socket", "button"):
            assert f"{size} {kind}" in names
    for size in ("3.0", "3.5", "4.0", "4.5", "5.0", "6.0"):
        assert f"wood {size}" in names
    for row in table.screws:
        assert row.source in table.sources
        assert row.head_diameter_mm > row.shank_diameter_mm > row.head_height_mm / 2
        assert screw_size(row.name) is row


def test_larger_screws_have_larger_heads() -> None:
    rows = load_screws().screws
    for kind in {row.source for row in rows}:
        heads = [
            (r.shank_diameter_mm, r.head_diameter_mm, r.head_height_mm) for r in rows if r.source == kind
        ]
        assert heads == sorted(heads)
        assert len({head for _, head, _ in heads}) == len(heads)
