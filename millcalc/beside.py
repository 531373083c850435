"""Work in a second thread, for what does not wait for each other: compiled kernels and reading files let both run."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")


def processors() -> int:
    """How many processors this process may use [-]."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Beside(Generic[T]):
    """Work that is begun now and fetched later; on one processor it is done when it is fetched.

    work: What to do; what it gives must not depend on what is done meanwhile.
    """

    def __init__(self, work: Callable[[], T]) -> None:
        self._work = work
        self._found: list[T] = []
        self._failed: list[BaseException] = []
        self._thread = threading.Thread(target=self._run, daemon=True) if processors() > 1 else None
        if self._thread is not None:
            self._thread.start()

    def _run(self) -> None:
        try:
            self._found.append(self._work())
        except BaseException as error:  # told where it is fetched
            self._failed.append(error)

    def fetch(self) -> T:
        """Wait for the work.

        Returns: What it gave.
        Raises BaseException: What it raised.
        """
        if self._thread is None:
            self._run()
        else:
            self._thread.join()
        if self._failed:
            raise self._failed[0]
        return self._found[0]
