"""The order of the second process that writes a proof strip: steps on scrap, checked before anything is stored."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from millcalc.errors import InputError
from millcalc.files import write_text
from millcalc.page.orders import Facts

NAME = "proof.nc"


def proof(order: Facts, out: Path, tell: Callable[[str, float], None]) -> Facts:
    """Write a strip with its record, card and job into a job's folder; nothing where the check finds anything.

    order: ``tooling``, ``ladder``, ``thickness_mm`` and ``units``; ``out`` is the result folder of the job.
    out: The same folder.
    tell: Told how far it is.
    Returns: How many steps it has.
    Raises InputError: If the cutter or the scrap does not fit, or the check finds a stop or a warning.
    """
    from millcalc.advise.proof import Strip, make_strip, strip_job
    from millcalc.advise.proof_keep import strip_files
    from millcalc.check.proof_held import held_strip
    from millcalc.job import build_setup, job_text
    from millcalc.report.proof_text import card_text
    from millcalc.tables import load_shop

    tooling, units, path = order["tooling"], order["units"], out.parent / NAME

    def make(held_mm: float) -> Strip:
        return make_strip(tooling, order["ladder"], None, 1, units, held_mm=held_mm)

    tell("writing the steps", 0.0)
    whole = make(float("inf"))
    job = strip_job(whole, order["thickness_mm"])
    tell("checking the strip", 0.0)
    strip, report = held_strip(whole, make, build_setup(job, None, load_shop()), NAME)
    left = [f for f in report.findings if f.severity != "note"]
    if left:
        said = "; ".join(f"{f.code} {f.fact}" for f in left[:4])
        raise InputError(f"in the strip: {said}", "a strip without a stop or a warning", left[0].action or "")
    texts = strip_files(strip, path, card_text(strip, units), datetime.now().astimezone())
    texts[out.parent / "job.yaml"] = job_text(job.model_copy(update={"program": NAME}))
    for one, text in texts.items():
        write_text(one, text)
    return {"steps": len(strip.steps)}
