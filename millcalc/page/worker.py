"""The process that reads a stranger's program: with limits of memory, telling how far it is, ending with files.

Runs in a process of its own (started afresh, so it works the same on every platform). It answers over a pipe:
``("at", stage, share)`` on the way, then ``("done", facts)`` or ``("failed", sentences)``.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from millcalc.errors import MillcalcError
from millcalc.files import new_file, write_text
from millcalc.page import worker_more, worker_proof
from millcalc.page.orders import Facts, heard, paths

TELL_SECONDS = 0.1  # between two messages about how far it is


def run(kind: str, order: Facts, pipe: Any, most_bytes: int) -> None:
    """Carry out one order and end.

    kind: one of :data:`KINDS`.
    order: ``program``, ``job`` (or None), ``out`` (folder), ``units``, and what the kind needs besides.
    pipe: Where to answer.
    most_bytes: Most memory, where the system can hold to it [byte].
    """
    _limit(most_bytes)
    try:
        out = Path(order["out"])
        out.mkdir(exist_ok=True)
        for left in out.glob(".*.part"):  # of a process that was stopped
            left.unlink(missing_ok=True)
        pipe.send(("done", KINDS[kind](order, out, _teller(pipe))))
    except MillcalcError as error:
        pipe.send(("failed", str(error).splitlines()))
    except MemoryError:
        pipe.send(
            ("failed", ["not enough memory for this program; a coarser cell or a smaller program goes"])
        )
    except OSError as error:
        pipe.send(("failed", [f"{error.strerror or error}; nothing was changed"]))
    except Exception as error:  # told to the person; the page goes on
        pipe.send(
            ("failed", [f"an error of millcalc itself, please report it: {type(error).__name__}: {error}"])
        )


def _limit(most_bytes: int) -> None:
    """Hold to a memory limit where the system has one: not on Windows, and loosely on a Mac."""
    try:
        import resource
    except ImportError:
        return
    try:
        resource.setrlimit(resource.RLIMIT_AS, (most_bytes, most_bytes))
    except (ValueError, OSError):
        return


def _teller(pipe: Any) -> Callable[[str, float], None]:
    last, told = 0.0, ""

    def tell(stage: str, share: float) -> None:
        nonlocal last, told
        now, word = time.monotonic(), stage.partition(":")[0]
        if now - last >= TELL_SECONDS or word != told:
            last, told = now, word
            pipe.send(("at", stage, float(share)))

    return tell


def _facts(order: Facts, out: Path, tell: Callable[[str, float], None]) -> Facts:
    """What the form of a job needs to know of a program: its tools, and where it goes."""
    from millcalc.gcode.options import ReadOptions
    from millcalc.gcode.reader import read_program
    from millcalc.gcode.source import read_bytes
    from millcalc.gcode.summary import summarise

    path, _ = paths(order)
    program = read_program(
        read_bytes(path), path.name, options=ReadOptions(), progress=lambda share: tell("reading", share)
    )
    seen = summarise(program)
    low, high = seen.feed_extents.low_mm, seen.feed_extents.high_mm
    facts = {
        "tools": sorted({use.number for use in seen.tools if use.number >= 0}),
        "low": None if None in (*low, *high) else list(low),
        "high": None if None in (*low, *high) else list(high),
        "lines": int(seen.lines),
        "complete": bool(seen.complete),
    }
    _write(out / "facts.json", json.dumps(facts))
    return facts


def _check(order: Facts, out: Path, tell: Callable[[str, float], None]) -> Facts:
    """Check a program, and write its report in every form the page shows."""
    from millcalc.check.run import look_at
    from millcalc.report.check_json import check_json
    from millcalc.report.check_sarif import sarif_part, sarif_text
    from millcalc.report.headline import banner
    from millcalc.report.page_html import report_page
    from millcalc.report.sheet import sheet_page

    program, job = paths(order)
    looked = look_at(program, job, heard(order, tell))
    tell("drawing", 0.0)
    _write(out / "report.html", report_page(looked))
    tell("drawing", 0.7)
    _write(out / "sheet.html", sheet_page(looked, job_name=job.name if job else ""))
    _write(out / "stamp", str(order["stamp"]))
    _write(out / "findings.sarif", sarif_text([sarif_part(looked.report, looked.ctx.program)]))
    _write(out / "verdict", banner(looked.report))
    _write(out / "check.json", check_json(looked.report))
    return {"verdict": looked.report.verdict()}


def _desk(order: Facts, *, simulate: bool = True) -> Any:
    from millcalc.check.desk import desk_for
    from millcalc.check.prepare import CheckOptions
    from millcalc.cutlog.taught import learner

    program, job = paths(order)
    return desk_for(program, job, CheckOptions(simulate=simulate, learned=learner(Path.cwd())))


def _left(findings: Any) -> list[str]:
    return [
        f"{f.code}{f' line {f.line}' if f.line else ''}: {f.fact}{f'; {f.action}' if f.action else ''}"
        for f in findings[:8]
    ]


def _correct(order: Facts, out: Path, tell: Callable[[str, float], None]) -> Facts:
    """A copy in which only feeds and speeds are changed."""
    from millcalc.rewrite.correct import correct
    from millcalc.rewrite.say import BEFORE_THE_CUT, change_words

    tell("correcting and checking again", 0.0)
    made = correct(_desk(order), by_engagement=bool(order.get("by_engagement")))
    changes = [[c.line, *change_words(c), c.why] for c in made.changes]
    said = {
        "good": made.good,
        "title": "Corrected copy" if made.good else "Feeds and speeds cannot mend this",
        "lines": ["Everything else is the same, byte for byte. The copy was read again, compared motion by motion, and "
                  "checked: no stop and no warning in what was checked."] if made.good else
                 [f"{len(changes)} words could be corrected, but these findings would remain:"],
        "changes": changes,
        "left": _left(made.left),
        "before": list(BEFORE_THE_CUT),
    }  # fmt: skip
    return _copied(order, out, "corrected", made.data if made.good else None, said)


def _lift(order: Facts, out: Path, tell: Callable[[str, float], None]) -> Facts:
    """A raised copy, to watch in the air."""
    from millcalc.rewrite.lift import lift
    from millcalc.rewrite.say import BEFORE_THE_LIFT, lift_lines

    tell("raising and comparing", 0.0)
    made = lift(_desk(order, simulate=False), order.get("by_mm"))
    lines = lift_lines(made, order["units"])
    unknown = [f"not looked at, because the job does not say it: {what}" for what in made.heights.unknown]
    said = {"good": True, "title": "Raised copy, to watch in the air", "lines": [*lines, *unknown], "changes": [],
            "left": [], "before": list(BEFORE_THE_LIFT)}  # fmt: skip
    return _copied(order, out, "lifted", made.data, said)


def _restart(order: Facts, out: Path, tell: Callable[[str, float], None]) -> Facts:
    """A program that goes on after a stop."""
    from millcalc.rewrite.restart import reenter, survey
    from millcalc.rewrite.say import BEFORE_GOING_ON, reentry_lines

    tell("looking for the way in", 0.0)
    desk, line = _desk(order), int(order["line"])
    made = reenter(desk, survey(desk), line)
    said = {
        "good": made.good,
        "title": f"Goes on from line {made.begins.line}"
        if made.good
        else "The way back in did not pass its check",
        "lines": reentry_lines(made, line) if made.good else [],
        "changes": [],
        "left": _left(made.left),
        "before": list(BEFORE_GOING_ON),
    }
    return _copied(order, out, "restart", made.data if made.good else None, said)


def _screws(order: Facts, out: Path, tell: Callable[[str, float], None]) -> Facts:
    """Where screws can stand, and a set that would hold: as a job that may take the place of the one there is."""
    from millcalc.check.prepare import make_context
    from millcalc.gcode.source import read_bytes
    from millcalc.holding.after import checked_again, job_after
    from millcalc.holding.asked import Wish, prototype
    from millcalc.holding.find import find_hold_down
    from millcalc.job import build_setup, job_text, load_job
    from millcalc.tables import load_shop

    program, job = paths(order)
    assert job is not None
    given, wish = load_job(job), Wish()
    prototype(given, wish)  # refused before the long part
    setup = build_setup(given, job, load_shop())
    ctx = make_context(read_bytes(program), str(program), setup, heard(order, tell))
    tell("looking for places", 0.0)
    answer = find_hold_down(ctx, wish)
    again = checked_again(ctx, answer) if answer.proposal else ()
    places = [[p.screw.x_mm, p.screw.y_mm, p.screw.size or "", p.given] for p in answer.proposal]
    said = {"fine": answer.fine and not _left(again), "places": places, "assumed": list(answer.assumed),
            "problems": [*answer.problems, *_left(again)], "not_checked": list(answer.not_checked),
            "stamp": order["job_stamp"]}  # fmt: skip
    if answer.proposal:
        _write(out / "screws.job.yaml", job_text(job_after(given, answer)))
    _write(out / "screws.json", json.dumps(said))
    return {"places": len(places)}


def _copied(order: Facts, out: Path, name: str, data: bytes | None, said: Facts) -> Facts:
    """Write a copy, or take an older one away where there is none now, and what is said about it."""
    target = out / f"{name}{Path(order['program']).suffix}"
    if data is None:
        target.unlink(missing_ok=True)
    else:
        with new_file(target, replace=True, inputs=(Path(order["program"]),)) as part:
            part.write_bytes(data)
    _write(out / f"{name}.json", json.dumps({**said, "file": target.name if data is not None else ""}))
    return {"copy": name}


def _write(path: Path, text: str) -> None:
    write_text(path, text, replace=True)


KINDS: dict[str, Callable[[Facts, Path, Callable[[str, float], None]], Facts]] = {
    "facts": _facts,
    "check": _check,
    "correct": _correct,
    "lift": _lift,
    "restart": _restart,
    "screws": _screws,
    "compare": worker_more.compare,
    "table": worker_more.table,
    "proof": worker_proof.proof,
}
