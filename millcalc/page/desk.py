"""Where advices are computed: asked twice, computed once; the next beside it in a second process; the longest there.

One process computes one advice at a time, since Python takes turns. A second one, begun when the page opens, takes what
would have to wait, and what takes longest, so that the answer to the next change never stands behind it.
"""

from __future__ import annotations

import multiprocessing
import signal
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any

from millcalc.advise.result import Advice
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.page import tuning
from millcalc.tables import Cutter
from millcalc.units_show import System

Question = tuple[Tooling, CutRequest, System, tuple[Cutter, ...], bool]


def compute(question: Question) -> Advice:
    """The answer to a question.

    question: Tooling, request, units, other cutters, and whether what would buy more is asked for.
    Returns: The advice.
    """
    from millcalc.advise.advice import advise

    tooling, request, units, others, buys = question
    return advise(tooling, request, units=units, others=others, buys=buys)


def load() -> None:
    """Load what an answer needs, so that the first one does not wait for it."""
    from millcalc.advise import advice, operating_map, width_map  # noqa: F401
    from millcalc.cutlog import past, taught  # noqa: F401
    from millcalc.page.show import environment
    from millcalc.report import log_text, map_drawing, settings_rows, settings_text  # noqa: F401

    environment()


def answer_beside(pipe: Any) -> None:
    """The second process: answers until the first one is gone; what it cannot answer, the first one computes itself.

    pipe: Questions in, advices out; None for a question that failed.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the first process, which ends this one
    load()
    while True:
        try:
            question = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            answer = compute(question)
        except Exception:
            answer = None
        pipe.send(answer)


class Desk:
    """Answers questions of settings; the learnt margins are part of the tooling, so nothing remembered is stale.

    beside: Whether to begin a second process.
    """

    def __init__(self, *, beside: bool = False) -> None:
        self._known: OrderedDict[Question, Future[Advice]] = OrderedDict()
        self._lock, self._here, self._there = threading.Lock(), threading.Lock(), threading.Lock()
        self._pipe: Any = None
        if beside:
            context = multiprocessing.get_context("spawn")
            self._pipe, theirs = context.Pipe()
            context.Process(target=answer_beside, args=(theirs,), daemon=True).start()
            theirs.close()

    def advice(self, tooling: Tooling, request: CutRequest, units: System) -> Advice:
        """Settings for a cut, without what would buy more.

        tooling, request: What is asked.
        units: ``mm`` or ``in``.
        Returns: The advice.
        Raises InputError: If a given number is impossible.
        """
        return self._once((tooling, request, units, (), False), self._soon)

    def full(self, advice: Advice, units: System, others: tuple[Cutter, ...]) -> Advice:
        """An advice with what would buy more; it waits for its turn behind no answer.

        advice: Without it.
        units: ``mm`` or ``in``.
        others: Other cutters the person could use.
        Returns: The advice.
        """
        return self._once((advice.tooling, advice.request, units, others, True), self._later)

    def close(self) -> None:
        """End the second process."""
        if self._pipe is not None:
            self._pipe.close()
            self._pipe = None

    def _once(self, question: Question, compute_it: Callable[[Question], Advice]) -> Advice:
        with self._lock:
            found = self._known.get(question)
            mine = found is None
            if found is None:
                found = self._known[question] = Future()
            self._known.move_to_end(question)
            while len(self._known) > tuning.MOST_REMEMBERED:
                self._known.popitem(last=False)
        if mine:
            try:
                found.set_result(compute_it(question))
            except BaseException as error:
                with self._lock:
                    self._known.pop(question, None)
                found.set_exception(error)
        return found.result()

    def _soon(self, question: Question) -> Advice:
        if not self._here.acquire(blocking=False):
            if self._pipe is not None and self._there.acquire(blocking=False):
                return self._beside(question)
            self._here.acquire()
        try:
            return compute(question)
        finally:
            self._here.release()

    def _later(self, question: Question) -> Advice:
        if self._pipe is None:
            return compute(question)
        self._there.acquire()
        return self._beside(question)

    def _beside(self, question: Question) -> Advice:
        """Ask the second process, whose turn was taken; without it the question is answered here."""
        try:
            self._pipe.send(question)
            answer = self._pipe.recv()
        except (AttributeError, EOFError, OSError):
            self._pipe, answer = None, None
        finally:
            self._there.release()
        return compute(question) if answer is None else answer
