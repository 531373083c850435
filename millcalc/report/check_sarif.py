"""A check as SARIF 2.1.0, so that an editor shows each finding at its place in the program text.

Reference: Static Analysis Results Interchange Format (SARIF) Version 2.1.0, OASIS Standard, 27 March 2020.

A finding is a result of kind ``fail``; an accepted one carries its reason as a suppression; a check that could
not be made is a result of kind ``open``, the standard's word for "not enough information to decide".  What no
program can know stands among the run's notifications.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import quote

from millcalc import __version__
from millcalc.check.codes import code_doc
from millcalc.check.model import CheckReport, FindingOut, Mark
from millcalc.check.run import Looked
from millcalc.gcode.program import Program

SCHEMA_URI = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
BASE = "SRCROOT"
LEVELS: Mapping[str, str] = {"stop": "error", "warning": "warning", "note": "note"}
MESSAGE_OF_CHECKLIST = "no check sees this; look yourself before the start: "


@dataclass(frozen=True)
class SarifPart:
    """What one program adds to a log; plain data, so that another process can make it.

    artifact: The program file.
    results: Findings, accepted findings and checks that were not made.
    notes: What the person has to look at, and cautions.
    failed: Why the program could not be checked; empty when it was.
    """

    artifact: dict[str, Any]
    results: list[dict[str, Any]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    failed: str = ""


def sarif_part(report: CheckReport, program: Program) -> SarifPart:
    """The part of a log that one checked program makes.

    report: What was found.
    program: The program, for the exact columns.
    Returns: Plain data.
    """
    place = artifact_location(report.program.name)
    artifact: dict[str, Any] = {
        "location": place,
        "roles": ["analysisTarget"],
        "hashes": {"sha-256": report.program.sha256},
    }
    results = [_result(finding, place, program) for finding in report.findings]
    for entry in report.quieted:
        result = _result(entry.finding, place, program)
        inside = entry.origin.startswith("program")
        result["suppressions"] = [
            {
                "kind": "inSource" if inside else "external",
                "justification": f"{entry.reason} ({entry.origin})",
            }
        ]
        results.append(result)
    for missing in report.not_checked:
        fields = f" (the job's {', '.join(missing.fields)})" if missing.fields else ""
        results.append(
            {
                "ruleId": missing.code,
                "kind": "open",
                "level": "none",
                "message": {"text": f"Not checked: {missing.what}, because {missing.because}{fields}."},
                "locations": [{"physicalLocation": {"artifactLocation": place}}],
            }
        )
    notes = [MESSAGE_OF_CHECKLIST + text for text in report.checklist]
    notes += [*report.cautions, *([report.footer] if report.footer else [])]
    if not report.program.complete:
        notes.insert(0, f"{report.program.name} was not read to its end; what follows was not checked")
    return SarifPart(artifact, results, notes)


def sarif_failed(name: str, reason: str) -> SarifPart:
    """The part of a log for a program that could not be checked.

    name: The program file.
    reason: Why.
    Returns: Plain data.
    """
    return SarifPart({"location": artifact_location(name), "roles": ["analysisTarget"]}, failed=reason)


@dataclass(frozen=True)
class SarifFace:
    """Makes the parts of a log where several programs are checked."""

    def of(self, looked: Looked) -> SarifPart:
        """The part of a program that was checked.

        looked: The check.
        Returns: Plain data.
        """
        return sarif_part(looked.report, looked.ctx.program)

    def failed(self, name: str, reason: str) -> SarifPart:
        """The part of a program that could not be checked.

        name: The program file.
        reason: Why.
        Returns: Plain data.
        """
        return sarif_failed(name, reason)


def sarif_text(parts: Sequence[SarifPart]) -> str:
    """A whole log.

    parts: One a program.
    Returns: One JSON document with a final line end; only ASCII, so that any pipe carries it.
    """
    results = [dict(result) for part in parts for result in part.results]
    codes = sorted({result["ruleId"] for result in results})
    index = {code: number for number, code in enumerate(codes)}
    for result in results:
        result["ruleIndex"] = index[result["ruleId"]]
    said: list[dict[str, Any]] = [
        {
            "level": "error",
            "message": {"text": f"not checked: {part.failed}"},
            "locations": [{"physicalLocation": {"artifactLocation": part.artifact["location"]}}],
        }
        for part in parts
        if part.failed
    ]
    notes = dict.fromkeys(note for part in parts for note in part.notes)
    said += [{"level": "note", "message": {"text": note}} for note in notes]
    run: dict[str, Any] = {
        "tool": {
            "driver": {
                "name": "millcalc",
                "version": __version__,
                "rules": [_rule(code) for code in codes],
            }
        },
        "invocations": [
            {
                "executionSuccessful": not any(part.failed for part in parts),
                "toolExecutionNotifications": said,
            }
        ],
        "originalUriBaseIds": {
            BASE: {"description": {"text": "The folder in which the check was run."}},
        },
        "artifacts": [part.artifact for part in parts],
        "columnKind": "utf16CodeUnits",
        "newlineSequences": ["\r\n", "\n", "\r"],
        "results": results,
    }
    log = {"$schema": SCHEMA_URI, "version": "2.1.0", "runs": [run]}
    return json.dumps(log, indent=1, ensure_ascii=True, allow_nan=False) + "\n"


def artifact_location(name: str, base: Path | None = None) -> dict[str, Any]:
    """Where a program lies: relative to the working folder, absolute only when it lies elsewhere.

    name: The file as the person named it.
    base: The folder relative to which it is named; None takes the working folder.
    Returns: ``uri`` and, for a relative one, ``uriBaseId``.

    >>> artifact_location("a plate.nc")["uri"]
    'a%20plate.nc'
    """
    root = (base or Path.cwd()).resolve()
    path = Path(name)
    whole = (path if path.is_absolute() else root / path).resolve()
    if whole.is_relative_to(root):
        # a blank, a % or a # in a name must not be read as part of an address
        return {"uri": quote(whole.relative_to(root).as_posix(), safe="/"), "uriBaseId": BASE}
    return {"uri": whole.as_uri()}


def utf16_column(raw: bytes, column: int) -> int:
    """Column in UTF-16 code units of a column in bytes.

    raw: The line without its end; bytes that are not UTF-8 are read as Windows-1252.
    column: Column in bytes, from 1 [-].
    Returns: Column in UTF-16 code units, from 1 [-].

    >>> utf16_column("(é) X1".encode("utf-8"), 6)
    5
    """
    head = raw[: max(0, column - 1)]
    try:
        raw.decode("utf-8")
        text = head.decode("utf-8", "ignore")
    except UnicodeDecodeError:
        text = head.decode("cp1252", "replace")
    return len(text.encode("utf-16-le")) // 2 + 1


def _region(mark: Mark, program: Program) -> dict[str, Any]:
    region: dict[str, Any] = {"startLine": mark.line}
    if 1 <= mark.line <= program.lines and 0 < mark.start < mark.end:
        begin, end = int(program.line_starts[mark.line - 1]), int(program.line_starts[mark.line])
        raw = program.data[begin:end].rstrip(b"\r\n")
        region["startColumn"] = utf16_column(raw, mark.start)
        region["endColumn"] = max(utf16_column(raw, mark.end), region["startColumn"])
    if mark.text:
        region["snippet"] = {"text": mark.text}
    return region


def _location(place: Mapping[str, Any], region: Mapping[str, Any] | None, say: str = "") -> dict[str, Any]:
    physical: dict[str, Any] = {"artifactLocation": dict(place)}
    if region:
        physical["region"] = dict(region)
    location: dict[str, Any] = {"physicalLocation": physical}
    if say:
        location["message"] = {"text": say}
    return location


def _result(finding: FindingOut, place: Mapping[str, Any], program: Program) -> dict[str, Any]:
    marks = list(finding.marks)
    if not marks and finding.line is not None:
        marks = [Mark(line=finding.line)]
    main = _location(place, _region(marks[0], program) if marks else None)
    if finding.tool is not None and finding.tool >= 0:
        main["logicalLocations"] = [{"name": f"T{finding.tool}", "kind": "tool"}]
    result: dict[str, Any] = {
        "ruleId": finding.code,
        "kind": "fail",
        "level": LEVELS[finding.severity],
        "message": {"text": _message(finding)},
        "locations": [main],
        "occurrenceCount": max(1, finding.count),
        "partialFingerprints": {"codeAndText/v1": _fingerprint(finding)},
    }
    related = [_location(place, _region(mark, program), "see also here") for mark in marks[1:]]
    if finding.count > 1:
        for line, say in ((finding.first_line, "the first"), (finding.last_line, "the last")):
            if line is not None and line != finding.line:
                text = f"{say} of {finding.count} places"
                related.append(_location(place, _region(Mark(line=line), program), text))
    if related:
        result["relatedLocations"] = related
    facts: dict[str, Any] = {
        "measured": finding.measured,
        "limit": finding.limit,
        "unit": finding.unit,
        "tool": finding.tool,
        "place_mm": finding.place_mm.model_dump() if finding.place_mm else None,
        "source": finding.source,
    }
    kept = {name: value for name, value in facts.items() if value not in (None, "")}
    if kept:
        result["properties"] = kept
    return result


def _fingerprint(finding: FindingOut) -> str:
    """Stays the same when lines are added above: made of the code, the tool and the text of the line."""
    text = finding.marks[0].text.strip() if finding.marks else ""
    return hashlib.sha256(f"{finding.code}\0{finding.tool}\0{text}".encode()).hexdigest()[:32]


def _message(finding: FindingOut) -> str:
    said = [finding.fact]
    if finding.found or finding.expected:
        said.append(f"found {finding.found or 'nothing'}; expected {finding.expected or 'something else'}")
    if finding.count > 1:
        said.append(f"this is the worst of {finding.count} such places")
    if finding.action:
        said.append(f"do: {finding.action}")
    if finding.why:
        said.append(f"why: {finding.why}")
    return " ".join(_sentence(text) for text in said)


def _sentence(text: str) -> str:
    text = text.strip().rstrip(".")
    return text[:1].upper() + text[1:] + ("" if text.endswith(("!", "?")) else ".")


def _rule(code: str) -> dict[str, Any]:
    doc = code_doc(code)
    if doc is None:
        return {"id": code, "shortDescription": {"text": "About an acceptance that was not understood."}}
    told = (
        ("Why", "why"),
        ("Wrong", "wrong"),
        ("Right", "right"),
        ("Limits of the rule", "limits"),
        ("Source", "source"),
    )
    parts = [(name, doc[key]) for name, key in told if doc[key]]
    return {
        "id": code,
        "name": _camel(doc["title"]),
        "shortDescription": {"text": _sentence(doc["title"])},
        "fullDescription": {"text": _sentence(doc["flags"] or doc["title"]).replace("``", "")},
        "help": {
            "text": "\n".join(f"{name}: {_sentence(text)}" for name, text in parts).replace("``", ""),
            "markdown": "\n\n".join(f"**{name}**: {_sentence(text)}" for name, text in parts),
        },
        "defaultConfiguration": {"level": LEVELS[doc["severity"]]},
    }


def _camel(title: str) -> str:
    """A rule's title as the identifier that the standard wants for a name."""
    words = "".join(ch if ch.isalnum() else " " for ch in title).split()
    return "".join(word[:1].upper() + word[1:] for word in words)
