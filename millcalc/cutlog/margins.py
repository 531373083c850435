"""From logged outcomes to the margin of each limit, with its guard rails and the words that explain it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path

from millcalc.cutlog import tuning
from millcalc.cutlog.alterations import alterations
from millcalc.cutlog.evidence import Cut, evidence_for, far_below
from millcalc.cutlog.learn import Posterior, posterior
from millcalc.cutlog.models import LIMIT_KINDS, Entry, limit_kind
from millcalc.cutlog.query import Query
from millcalc.cutlog.store import Log
from millcalc.cutlog.where import log_path
from millcalc.limits.learned_words import LIMIT_WORDS


@dataclass(frozen=True, slots=True)
class Margin:
    """How far one limit of this machine lies from the computed one.

    kind: One of ``LIMIT_KINDS``.
    cuts, failures: Telling cuts, and how many of them failed at this limit [-].
    median, low, high: Real limit over computed limit: posterior median and ends of the interval [-].
    ln_sd: Standard deviation of its logarithm [-].
    advised: What to multiply the allowed share of this limit with [-]; 1 where nothing is learned.
    text: What was learned, one sentence.
    far_below, good_there: Failures below half of the computed limit, and good cuts that went as far [-].
    """

    kind: str
    cuts: int
    failures: int
    median: float
    low: float
    high: float
    ln_sd: float
    advised: float
    text: str
    far_below: int = 0
    good_there: int = 0

    @property
    def refuses(self) -> bool:
        """Whether so many cuts failed far below the computed limit that nothing should be advised with it."""
        often = self.far_below > tuning.LEARN_FAILURE_AT_LIMIT * (self.far_below + self.good_there)
        return often and self.far_below >= tuning.LEARN_REFUSE_FAILURES


@dataclass(frozen=True)
class Margins:
    """Margins of all limits that outcomes can move.

    machine, material: Whose, and for which material the chip limits hold.
    cuts: Cuts looked at [-].
    by_kind: One for each of ``LIMIT_KINDS``.
    since: Alteration of the machine before which cuts were left out.
    log: The log file; empty when nothing was read.
    left_out: Numbers of entries of this machine that cannot be read, or not trusted: they teach nothing.
    """

    machine: str
    material: str
    cuts: int
    by_kind: Mapping[str, Margin]
    since: datetime | None = None
    log: str = ""
    left_out: tuple[int, ...] = ()

    def advised(self, kind: str) -> float:
        """What to multiply the allowed share of a limit with; 1 for a limit that cannot be learned.

        kind: Limit, by its name here or its key in an advice. Hard limits (cutter strength, speed range,
          travel) are not learned.
        Returns: Margin [-].
        """
        margin = self.by_kind.get(limit_kind(kind) or kind)
        return 1.0 if margin is None else margin.advised

    @property
    def changed(self) -> tuple[Margin, ...]:
        """Margins that differ from 1, the largest change first."""
        moved = [margin for margin in self.by_kind.values() if margin.advised != 1.0]
        return tuple(sorted(moved, key=lambda margin: -abs(math.log(margin.advised))))


def advised_margin(known: Posterior, telling: int, well: float, failed: float = math.inf) -> float:
    """The margin that is acted on: cautious upwards, quick downwards, never far beyond what was tried.

    known: Of ln(real limit / computed limit).
    telling: Telling cuts [-].
    well: Largest share that went well [-].
    failed: Smallest share that failed [-]; infinite where none did.
    Returns: Factor on the allowed share [-]. Raised to what is sure to 90 %, at most to
      ``tuning.LEARN_LARGEST_MARGIN``, only after ``LEARN_LEAST_CUTS`` telling cuts and never over a failure
      below ``LEARN_FAILED_FAR_BELOW``. Lowered from the first failure on as soon as the median lies below 1,
      without a floor. Else 1.
    """
    enough = telling >= tuning.LEARN_LEAST_CUTS
    sure = math.exp(known.quantile(1.0 - tuning.LEARN_SURE_TO_RAISE))
    if enough and sure > 1.0 and failed >= tuning.LEARN_FAILED_FAR_BELOW:
        tried = max(1.0, well * tuning.LEARN_STEP_BEYOND_TRIED)
        return min(sure, tried, tuning.LEARN_LARGEST_MARGIN)
    if enough or failed < math.inf:
        return min(math.exp(known.quantile(1.0 - tuning.LEARN_SURE_TO_LOWER)), 1.0)
    return 1.0


def margin_from(cuts: list[Cut], kind: str, material: str = "", prior_sd: float | None = None) -> Margin:
    """Learn one limit from cuts.

    cuts: Cuts of one machine.
    kind: Limit.
    material: For chip limits only cuts in this material count; empty takes all.
    prior_sd: Standard deviation of ln(real / computed limit) before any cut [-]; the tuning value when left
      out.
    Returns: With 1 as its advised factor while there is too little to go by.
    """
    evidence, telling, failures, well, failed = evidence_for(cuts, kind, material)
    known = posterior(tuning.LEARN_PRIOR_SD[kind] if prior_sd is None else prior_sd, evidence)
    tail = (1.0 - tuning.LEARN_INTERVAL) / 2.0
    median, low, high = (math.exp(known.quantile(share)) for share in (0.5, tail, 1.0 - tail))
    advised = advised_margin(known, telling, well, failed)
    text = _words(kind, telling, failures, median, low, high, advised)
    if failed < tuning.LEARN_FAILED_FAR_BELOW:
        text += (
            f"; a cut failed at {failed:.2g} of the computed limit: measure this machine before the next cut"
        )
    return Margin(
        kind,
        telling,
        failures,
        median,
        low,
        high,
        known.sd(),
        advised,
        text,
        *far_below(cuts, kind, material),
    )


def _words(
    kind: str, telling: int, failures: int, median: float, low: float, high: float, advised: float
) -> str:
    name = LIMIT_WORDS[kind]
    cuts = f"{telling} telling cut{'' if telling == 1 else 's'}"
    if failures:
        cuts += f", {failures} failed"
    if telling < tuning.LEARN_LEAST_CUTS and advised == 1.0:
        return f"{name}: {cuts}; at least {tuning.LEARN_LEAST_CUTS} are needed, the computed limit stands"
    interval = f"{100 * tuning.LEARN_INTERVAL:.0f} % interval {low:.2g} to {high:.2g}"
    found = f"{name}: {cuts}; this machine's limit is about {median:.2g} times the computed one ({interval})"
    if advised == 1.0:
        return f"{found}; not sure enough to change it"
    return f"{found}; the limit is taken at {advised:.2f} times"


def cuts_of_machine(log: Log, machine: str, now: datetime) -> tuple[list[Cut], datetime | None]:
    """The newest cuts of a machine since it was last altered; other people's recipes are left out.

    log: Open log.
    machine: Which machine.
    now: From when ages are counted.
    Returns: Cuts, newest first, and when the machine was last altered.
    """
    altered = [one.when for one in alterations(log, machine) if one.when <= now]
    since = max(altered, default=None)
    cuts = (one.entry for one in log.iterate(Query(machine=machine, since=since, limit=-1)))
    own = (_cut_of(entry, now) for entry in cuts if entry.origin != "somebody")
    return list(islice(own, tuning.LEARN_MOST_CUTS)), since


def _cut_of(entry: Entry, now: datetime) -> Cut:
    age = (now - entry.when).total_seconds() / 86_400.0
    known: dict[str, float] = {str(kind): share for kind, share in entry.shares.items()}
    # the chip follows the knob; force, power and deflection do so only in part and stay as predicted
    override = entry.override_percent
    for kind, factor in (("chip_high", override / 100.0), ("chip_low", 100.0 / override)):
        if kind in known:
            known[kind] *= factor
    size, deflection = entry.size_error_mm, entry.deflection_mm
    return Cut(age, entry.material, entry.outcome, entry.symptoms, known, size, deflection)


def learned_margins(
    machine: str,
    *,
    material: str = "",
    log: Log | Path | str | None = None,
    now: datetime | None = None,
    prior_sd: Mapping[str, float] | None = None,
) -> Margins:
    """What the log has taught about a machine's limits.

    machine: Name as in the log.
    material: Material the chip limits are wanted for; empty takes all together.
    log: Open log, or its file; the platform's when left out. A log that does not exist teaches nothing.
    now: From when ages are counted; now when left out.
    prior_sd: Standard deviation of ln(real / computed limit) before any cut, by limit [-]; e.g. smaller for
      ``deflection`` on a machine whose stiffness was measured.
    Returns: One margin for each limit that outcomes can move. Shares that are advised are multiplied with
      ``margins.advised(kind)``; hard limits are not among them and stay.
    Raises LogError: When the log exists and cannot be read.
    """
    if isinstance(log, Log):
        return _learned(log, machine, material, now or datetime.now(UTC), prior_sd or {})
    path = log_path(log)
    if not path.is_file() or path.stat().st_size == 0:
        nothing: dict[str, Margin] = {kind: margin_from([], kind) for kind in LIMIT_KINDS}
        return Margins(machine, material, 0, nothing)
    with Log(path, create=False, readonly=True) as opened:
        return _learned(opened, machine, material, now or datetime.now(UTC), prior_sd or {})


def _learned(log: Log, machine: str, material: str, now: datetime, prior_sd: Mapping[str, float]) -> Margins:
    cuts, since = cuts_of_machine(log, machine, now)
    by_kind: dict[str, Margin] = {
        kind: margin_from(cuts, kind, material, prior_sd.get(kind)) for kind in LIMIT_KINDS
    }
    return Margins(machine, material, len(cuts), by_kind, since, str(log.path), tuple(sorted(log.left_out)))
