"""A few random cases a run; two thousand by hand: ``python -m tests.properties.one_voice 2000``."""

from __future__ import annotations

import os

import pytest

from millcalc.advise.advice import advise
from millcalc.advise.result import Advice
from millcalc.limits.request import CutRequest
from tests.properties import one_voice

CASES = 300 if os.environ.get("MILLCALC_ALL") else 6


# 990: a width rounded down to thousandths thinned the chip until it rubbed, and the answer in inches fell apart;
# 1157: twice the depth lay between the whole limit and the slack over it, where no rule spoke;
# 1241: a feed rounded up so as not to rub took the depth beyond its limit;
# 494: the feed in inches was printed slower than it was set, and rubbed;
# 1894: the depth stayed where a width and a feed that were rounded after it had put it;
# 3355: a step of 0.05 mm under a point took a fourth of the removal
@pytest.mark.parametrize("number", [*range(CASES), 494, 990, 1157, 1241, 1894, 3355])
def test_settings_limits_check_and_units_speak_with_one_voice(number: int) -> None:
    assert one_voice.broken(number) == []


def test_a_second_voice_would_be_heard(monkeypatch: pytest.MonkeyPatch) -> None:
    """A budget that asks who gave the number, as it once did, breaks the property; so does deaf check."""
    number = next(n for n in range(200) if (made := one_voice.case(n)) is not None and made[1].cut == "slot"
                  and made[0].cutter.kind == "flat" and not one_voice.broken(n))  # fmt: skip

    def other_when_given(tooling: object, request: CutRequest, **more: object) -> Advice:
        given = request.feed_mm_min is not None
        asked = (
            CutRequest(**{**request.__dict__, "proven": True}) if given and not request.proven else request
        )
        return advise(tooling, asked, **more)  # type: ignore[arg-type]

    made = one_voice.case(number)
    assert made is not None
    if not made[1].proven:
        monkeypatch.setattr(one_voice, "advise", other_when_given)
        assert any("judged otherwise when given" in text for text in one_voice.broken(number))
    monkeypatch.setattr(one_voice, "advise", advise)
    monkeypatch.setattr(one_voice, "JUDGED", ())
    assert any("twice the depth" in text for text in one_voice.broken(number))
