"""Sentences of the command line, as a page says them."""

from __future__ import annotations

import re

_OPTION = re.compile(r"\s*\([^()]*--[a-z][^()]*\)")


def unoptioned(line: str) -> str:
    """A sentence without the names of options of the command line.

    line: As the command line says it.
    Returns: As the page says it.

    >>> unoptioned("Once this first cut went well (--proven)"), unoptioned("--cut: found 'saw'")
    ('Once this first cut went well', "cut: found 'saw'")
    """
    return re.sub(r"--(?=[a-z])", "", _OPTION.sub("", line))
