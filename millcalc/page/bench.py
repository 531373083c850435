"""Where programs are looked over: one at a time in a process of its own, the others wait in a row and say so."""

from __future__ import annotations

import multiprocessing
import secrets
import threading
import time
from collections import OrderedDict, deque
from dataclasses import dataclass, field
from typing import Any, Literal

from millcalc.errors import UsageError
from millcalc.page import tuning, worker

State = Literal["waiting", "running", "done", "failed", "cancelled"]
_POLL_SECONDS = 0.1
_MOST_KEPT = 50  # finished tasks whose outcome can still be asked for


@dataclass
class Task:
    """One order to a worker.

    name: Its name in addresses.
    job: Name of the job's folder.
    kind: What is to be done.
    order: For the worker.
    owner: Session that asked for it.
    state: Where it is.
    stage, share: What it is doing, and how much of that is done, 0 to 1.
    facts: What came out.
    lines: Why it failed.
    """

    name: str
    job: str
    kind: str
    order: dict[str, Any]
    owner: str
    state: State = "waiting"
    stage: str = ""
    share: float = 0.0
    facts: dict[str, Any] = field(default_factory=dict)
    lines: list[str] = field(default_factory=list)
    over: threading.Event = field(default_factory=threading.Event)

    @property
    def live(self) -> bool:
        """Whether it waits or runs."""
        return self.state in ("waiting", "running")


class Bench:
    """Tasks in a row, carried out one by one.

    seconds: Time a task may take [s].
    most_bytes: Memory it may use [byte].
    """

    def __init__(self, seconds: float = tuning.CHECK_SECONDS, most_bytes: int = tuning.CHECK_BYTES) -> None:
        self._seconds, self._bytes = seconds, most_bytes
        self._row: deque[Task] = deque()
        self._tasks: OrderedDict[str, Task] = OrderedDict()
        self._now: Task | None = None
        self._changed = threading.Condition()
        self._thread: threading.Thread | None = None

    def submit(self, kind: str, job: str, order: dict[str, Any], owner: str) -> Task:
        """Put a task at the end of the row; the same one that waits or runs already is given back.

        kind, job, order, owner: See :class:`Task`.
        Returns: The task.
        Raises UsageError: When too many wait.
        """
        with self._changed:
            for known in (*self._row, *([self._now] if self._now else [])):
                if (known.kind, known.job, known.order) == (kind, job, order) and known.live:
                    return known
            if len(self._row) >= tuning.MOST_WAITING:
                raise UsageError(
                    f"{len(self._row)} checks wait already; try again when some of them are done"
                )
            task = Task(secrets.token_urlsafe(9), job, kind, order, owner)
            self._tasks[task.name] = task
            while len(self._tasks) > _MOST_KEPT:
                oldest = next((one for one in self._tasks.values() if not one.live), None)
                if oldest is None:
                    break
                del self._tasks[oldest.name]
            self._row.append(task)
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, daemon=True)
                self._thread.start()
            self._changed.notify_all()
        return task

    def find(self, name: str) -> Task | None:
        """A task by its name."""
        return self._tasks.get(name)

    def of(self, job: str) -> Task | None:
        """The latest task of a job."""
        return next((one for one in reversed(self._tasks.values()) if one.job == job), None)

    def before(self, task: Task) -> int:
        """How many are to be done before a task that waits [-]."""
        with self._changed:
            return self._row.index(task) + (self._now is not None) if task in self._row else 0

    def cancel(self, task: Task) -> None:
        """Stop a task; what it would have written is not there."""
        with self._changed:
            if task in self._row:
                self._row.remove(task)
                task.over.set()
            if task.live:
                task.state = "cancelled"

    def close(self) -> None:
        """Stop everything."""
        for task in list(self._tasks.values()):
            self.cancel(task)

    def _work(self) -> None:
        while True:
            with self._changed:
                while not self._row:
                    self._changed.wait()
                task = self._now = self._row.popleft()
                task.state = "running"
            try:
                self._carry_out(task)
            except Exception as error:  # the bench goes on with the next one
                task.state, task.lines = "failed", [f"an error of millcalc itself: {error}"]
            with self._changed:
                self._now = None
            task.over.set()

    def _carry_out(self, task: Task) -> None:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(
            target=worker.run, args=(task.kind, task.order, theirs, self._bytes), daemon=True
        )
        process.start()
        theirs.close()
        until = time.monotonic() + self._seconds
        try:
            while task.state == "running":
                if time.monotonic() > until:
                    text = f"it took longer than {self._seconds / 60:g} minutes and was stopped"
                    task.state, task.lines = "failed", [text]
                elif ours.poll(_POLL_SECONDS):
                    self._hear(task, ours)
        finally:
            if task.state != "done":
                process.kill()
            process.join()
            ours.close()

    def _hear(self, task: Task, ours: Any) -> None:
        try:
            word, *rest = ours.recv()
        except EOFError:
            text = "the process ended by itself, most likely for want of memory; a coarser cell needs less"
            task.state, task.lines = "failed", [text]
            return
        with self._changed:
            if task.state != "running":
                return
            if word == "at":
                task.stage, task.share = rest
            elif word == "done":
                task.facts, task.state = rest[0], "done"
            else:
                task.lines, task.state = rest[0], "failed"
