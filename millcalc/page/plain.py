"""Sentences of the command line, as a page says them: no option to type, no command where a page does it."""

from __future__ import annotations

import re

_NAME = r"[a-z][a-z-]*"
_IN_BRACKETS = re.compile(rf"\s*\([^()]*(?:--{_NAME}|`?millcalc [a-z])[^()]*\)")
_TICKS = re.compile(rf"`(millcalc {_NAME}[^`]*)`")
_ARGUMENTS = r"(?:\s+--\S+| (?:[A-Z]{2,}\S*|\d+\b|\w+=\w+))*"  # what is typed behind a command
# commands first, the longer before the shorter: what a page calls the same
COMMANDS = (
    (r"millcalc measure (\w+)", r"Machine page, \1"),
    (r"millcalc log (?:edit|show|remove)", "the entry on the Log page"),
    (r"millcalc log (?:verify|recover|restore|backup)", "the log, at the terminal"),
    (r"millcalc log (?:machine-changed|wear)", "the Log page, what it has learnt"),
    (r"millcalc log \w+", "the Log page"),
    (r"millcalc tables \w+", "the list"),
    (r"millcalc alternatives", "Settings page, other bed heights"),
    (r"millcalc settings --cut helix --bore", "a helix with a bore of"),
    (r"millcalc (?:settings|stability)", "the Settings page"),
    (r"after millcalc check", "after the Check page has seen it"),
    (r"Run millcalc check on", "Use the Check page for"),
    (r"millcalc (?:check|sheet|show|compare|correct|lift|restart|screws)", "the Check page"),
    (r"millcalc (?:new job|new)", "the form of the job"),
    (r"millcalc adjust", "the Trouble page"),
    (r"millcalc explain", "Words and codes"),
    (r"millcalc proof", "the proof strip"),
    (r"millcalc (?:alloy|demo)", "the terminal"),
)
_COMMANDS = tuple(
    (re.compile(rf"\b{words}".replace(" ", r"\s+") + _ARGUMENTS), says) for words, says in COMMANDS
)
# options: what the same field is called here
OPTIONS = {
    "rpm": "speed", "ap": "depth", "ae": "width", "cut": "kind of cut", "by": "rise", "tone": "pitch of the squeal",
    "into": "name of the machine file", "pull": "pulls", "wav": "recording",
}  # fmt: skip
_OPTION = re.compile(rf"--({_NAME})")
# as documents of the terminal end
_DOCUMENT = (
    (re.compile(r"; <code>millcalc check --json</code> lists them all"), "; the file of findings lists them all"),
    (re.compile(r"Log it: <code>millcalc log add[^<]*</code> asks these"), "Log it on the page: it asks these"),
)  # fmt: skip

_WORDS = re.compile(r'(<pre class="words"[^>]*>)(.*?)(?=</pre>)', re.S)


def unoptioned(line: str) -> str:
    """A sentence without options and commands of the command line.

    line: As the command line says it.
    Returns: As the page says it.

    >>> unoptioned("Once this first cut went well (--proven)"), unoptioned("--cut: found 'saw'")
    ('Once this first cut went well', "kind of cut: found 'saw'")
    >>> unoptioned("known: millcalc measure frequency --how"), unoptioned("`millcalc log edit 7 --set ap=1` mends it")
    ('known: Machine page, frequency', 'the entry on the Log page mends it')
    """
    said = _IN_BRACKETS.sub("", line)
    said = _TICKS.sub(r"\1", said)
    for words, says in _COMMANDS:
        said = words.sub(says, said)
    return _OPTION.sub(lambda found: OPTIONS.get(found[1], found[1].replace("-", " ")), said)


def document(body: str) -> str:
    """A report or sheet as the page shows it: where it names a command, what the page has for it.

    body: Markup.
    Returns: Markup.
    """
    for words, says in _DOCUMENT:
        body = words.sub(says, body)
    return _WORDS.sub(lambda found: found[1] + unoptioned(found[2]), body)
