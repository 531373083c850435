"""Screws of a job as bodies that stand in its coordinates."""

from __future__ import annotations

from millcalc.job.build import build_setup
from millcalc.job.models import Job, Screw
from millcalc.job.setup import Keepout


def keepouts(job: Job, screws: tuple[Screw, ...]) -> tuple[Keepout, ...]:
    """Screws as bodies in the coordinates of a job.

    job: Gives stock and zero.
    screws: The screws.
    Returns: Their heads and shanks.
    """
    bare: dict[str, object] = {
        "screws": screws,
        "clamps": None,
        "cutters": {},
        "machine": None,
        "material": None,
    }
    return build_setup(job.model_copy(update=bare)).screws or ()
