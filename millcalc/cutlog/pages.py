"""The pages of a damaged log file, read without the database: what its write-ahead log adds, rows of every leaf.

Follows "Database File Format" of SQLite's own documentation (sqlite.org/fileformat2.html): sections 1.2 header,
1.5 b-tree pages, 1.6 cells and overflow, 2.1 records, 4 the write-ahead log.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from millcalc.cutlog.connect import beside, text_or_bytes

_PAGE_SIZES: Final = tuple(2**power for power in range(9, 17))
USUAL_SIZE: Final = 4096
_LEAF, _INTERIOR = 13, 5
_MOST_COLUMNS: Final = 200


@dataclass(frozen=True, slots=True)
class Row:
    """One row of some table.

    rowid: Its number [-].
    values: Of its columns; the number itself is None among them.
    page: Where it was found, 1 for the first [-].
    """

    rowid: int
    values: tuple[Any, ...]
    page: int


@dataclass
class Pages:
    """The pages of a file, those that its write-ahead log holds newer put over them.

    data: Bytes of the file.
    size: Of a page [byte].
    newer: Committed pages of the write-ahead log, by number.
    """

    data: bytes
    size: int
    newer: dict[int, bytes] = field(default_factory=dict)

    def __len__(self) -> int:
        return max([-(-len(self.data) // self.size), *self.newer])

    def page(self, number: int) -> bytes:
        """One page.

        number: 1 for the first [-].
        Returns: Its bytes; fewer, or none, where the file ends.
        """
        if number in self.newer:
            return self.newer[number]
        return self.data[(number - 1) * self.size : number * self.size] if number > 0 else b""


def read_pages(path: Path) -> Pages:
    """Read a file and its write-ahead log.

    path: The log file.
    Returns: Its pages.
    Raises OSError: When it cannot be read.
    """
    data = path.read_bytes()
    stated = int.from_bytes(data[16:18], "big")
    size = 65536 if stated == 1 else stated
    pages = Pages(data, size if size in _PAGE_SIZES and data[:6] == b"SQLite" else USUAL_SIZE)
    companion = beside(path, "-wal")
    if companion.is_file():
        pages.newer.update(_committed(companion.read_bytes(), pages))
    return pages


def _committed(wal: bytes, pages: Pages) -> dict[int, bytes]:
    """Pages of whole transactions of a write-ahead log, up to the first frame that does not hold."""
    if len(wal) < 32:
        return {}
    magic, _, size, _, *salts = struct.unpack(">IIIIII", wal[:24])
    if magic & ~1 != 0x377F0682 or size not in _PAGE_SIZES:
        return {}
    pages.size = size
    order = ">" if magic & 1 else "<"
    sums = _summed(wal[:24], (0, 0), order)
    done: dict[int, bytes] = {}
    open_ones: dict[int, bytes] = {}
    for at in range(32, len(wal) - 24 - size + 1, 24 + size):
        number, committed, *rest = struct.unpack(">IIIIII", wal[at : at + 24])
        page = wal[at + 24 : at + 24 + size]
        sums = _summed(page, _summed(wal[at : at + 8], sums, order), order)
        if rest[:2] != salts or tuple(rest[2:]) != sums:
            break
        open_ones[number] = page
        if committed:
            done |= open_ones
            open_ones = {}
    return done


def _summed(data: bytes, sums: tuple[int, int], order: str) -> tuple[int, int]:
    one, two = sums
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for even, odd in zip(words[::2], words[1::2], strict=True):
        one = (one + even + two) & 0xFFFFFFFF
        two = (two + odd + one) & 0xFFFFFFFF
    return one, two


def rows_of(pages: Pages) -> Iterator[Row]:
    """Every row on every page that is a leaf of a table, whichever table.

    pages: Of the file.
    Yields: What can be taken apart; the rest is passed over.
    """
    for number in range(1, len(pages) + 1):
        page = pages.page(number)
        start = 100 if number == 1 and page[:6] == b"SQLite" else 0
        if page[start : start + 1] != bytes([_LEAF]):
            continue
        for at in _cells(page, start + 8, start):
            try:
                yield _row(pages, page, at, number)
            except (IndexError, ValueError, struct.error):
                continue


def leaves_of(pages: Pages, root: int) -> set[int]:
    """Leaves that hang on a table's root: what else looks like a leaf is loose and may be older.

    pages: Of the file.
    root: Page of the root [-].
    Returns: Page numbers, as far as they can be followed.
    """
    found, seen, todo = set(), set(), [root]
    while todo:
        number = todo.pop()
        if number in seen:
            continue
        seen.add(number)
        page = pages.page(number)
        if page[:1] == bytes([_LEAF]):
            found.add(number)
        elif page[:1] == bytes([_INTERIOR]):
            todo += [int.from_bytes(page[at : at + 4], "big") for at in (*_cells(page, 12, 0), 8)]
    return found


def _cells(page: bytes, first: int, start: int) -> list[int]:
    """Where the cells of a page begin."""
    count = int.from_bytes(page[start + 3 : start + 5], "big")
    places = [
        int.from_bytes(page[at : at + 2], "big")
        for at in range(first, min(first + 2 * count, len(page) - 1), 2)
    ]
    return [at for at in places if first <= at < len(page)]


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """A number of variable length, and where it ends."""
    value = 0
    for step in range(9):
        byte = data[at + step]
        if step == 8:
            return value << 8 | byte, at + 9
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + step + 1
    raise ValueError("a number without an end")


def _row(pages: Pages, page: bytes, at: int, number: int) -> Row:
    length, at = _varint(page, at)
    rowid, at = _varint(page, at)
    if length > len(pages) * pages.size:
        raise ValueError("a row larger than the file")
    usable = pages.size
    least, most = (usable - 12) * 32 // 255 - 23, usable - 35
    local = length
    if length > most:
        local = least + (length - least) % (usable - 4)
        local = local if local <= most else least
    parts = [page[at : at + local]]
    if length > most:
        following = int.from_bytes(page[at + local : at + local + 4], "big")
        left = length - local
        while left > 0 and following:
            body = pages.page(following)
            parts.append(body[4 : 4 + min(left, usable - 4)])
            left -= usable - 4
            following = int.from_bytes(body[:4], "big")
    payload = b"".join(parts)
    if len(payload) != length or rowid >= 2**63:
        raise ValueError("a row cut short")
    return Row(rowid, _record(payload), number)


def _record(payload: bytes) -> tuple[Any, ...]:
    end, at = _varint(payload, 0)
    kinds = []
    while at < end:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    if at != end or len(kinds) > _MOST_COLUMNS:
        raise ValueError("a head of no row")
    values = []
    for kind in kinds:
        value, at = _value(payload, at, kind)
        values.append(value)
    if at != len(payload):
        raise ValueError("a row of another length")
    return tuple(values)


_WHOLE: Final = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}


def _value(payload: bytes, at: int, kind: int) -> tuple[Any, int]:
    if kind in (0, 8, 9):
        return {0: None, 8: 0, 9: 1}[kind], at
    if kind in _WHOLE:
        end = at + _WHOLE[kind]
        return int.from_bytes(payload[at:end], "big", signed=True), end
    if kind == 7:
        return struct.unpack(">d", payload[at : at + 8])[0], at + 8
    if kind < 12:
        raise ValueError("a kind that is not used")
    end = at + (kind - 12) // 2
    data = payload[at:end]
    return (text_or_bytes(data) if kind % 2 else data), end
