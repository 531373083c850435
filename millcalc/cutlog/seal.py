"""A checksum of each row, so that a value the disk changed is found and not believed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any


def seal_of(values: Mapping[str, Any]) -> int:
    """Checksum of the stored values of one row.

    values: By column, the number of the row among them, as the file gives them back: text, numbers, None, or bytes
      where text is damaged.
    Returns: 64 bits as SQLite keeps whole numbers: the first eight bytes of BLAKE2b over the values as JSON,
      columns in the order of their names.

    Source: Saarinen, Aumasson, The BLAKE2 Cryptographic Hash and MAC, RFC 7693, 2015.
    """
    parts = [
        # the file keeps no sign of zero
        value + 0.0 if isinstance(value, float) else value
        for _, value in sorted(values.items())
    ]
    text = json.dumps(parts, ensure_ascii=True, default=repr)
    digest = hashlib.blake2b(text.encode("ascii"), digest_size=8).digest()
    return int.from_bytes(digest, "big", signed=True)
