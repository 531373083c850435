"""How text that others wrote is shown: what a terminal or a page would obey instead of show stands as a code."""

from __future__ import annotations

import re
from typing import Final

# C0 but tab and line feed, DEL, C1, soft hyphen, marks and turns of writing direction, other line ends, characters
# without width, lone surrogates, tags: Unicode 15.0, general categories Cc, Cf, Cs, Zl and Zp
OBEYED: Final = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u0600-\u0605\u061c\u06dd\u070f\u0890\u0891\u08e2\u180e"
    "\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff\ufff9-\ufffb"
    "\U000110bd\U000110cd\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e007f]"
)


def code(character: str) -> str:
    """The code that stands for a character.

    character: One character.
    Returns: ``\\\\u`` and four digits of 16, twice beyond the basic plane: inside a JSON text it still is the
      same character.

    >>> code(chr(27))
    '\\\\u001b'
    """
    words = character.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{words[i]:02x}{words[i + 1]:02x}" for i in range(0, len(words), 2))


def shown(text: str) -> str:
    """Text that can be sent to a terminal, a page or a sheet, whoever wrote it.

    text: Any text.
    Returns: The same text where nothing in it is a command to a terminal or turns the writing direction; else
      with those characters as codes. Tabs and line ends (LF) stay.

    >>> shown("6 mm" + chr(27) + "[2J")
    '6 mm\\\\u001b[2J'
    """
    return OBEYED.sub(lambda found: code(found.group()), text)
