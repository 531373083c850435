"""Ctrl-C ends a command within a second, though a compiled loop keeps the main thread busy."""

from __future__ import annotations

import os
import signal
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress

GRACE_S = 0.5  # for the interpreter to stop by itself first, which removes what was begun
TOLD = "millcalc: stopped by you; nothing was written"
STOPPED = 130


@contextmanager
def heard() -> Iterator[None]:
    """Listen for Ctrl-C while a command runs.

    Note: Python raises KeyboardInterrupt only between two of its own instructions. The signal is also
      written to a socket; a thread that waits there ends the process when it has not ended by itself after
      the grace. Where signals are ignored, or this is not the main thread, nothing is done.
    """
    if (
        threading.current_thread() is not threading.main_thread()
        or signal.getsignal(signal.SIGINT) is not signal.default_int_handler
    ):
        yield
        return
    ours, theirs = socket.socketpair()
    theirs.setblocking(False)
    before = signal.set_wakeup_fd(theirs.fileno(), warn_on_full_buffer=False)
    threading.Thread(target=_wait, args=(ours,), daemon=True).start()
    try:
        yield
    finally:
        signal.set_wakeup_fd(before)
        theirs.close()


def _wait(ours: socket.socket) -> None:
    with ours:
        while True:
            with suppress(OSError):
                number = ours.recv(1)
                if number and number[0] != signal.SIGINT:
                    continue
                if number:
                    time.sleep(GRACE_S)
                    _end()
            return


def _end() -> None:
    """End the process at once: part files away, helpers stopped, the person told."""
    import multiprocessing

    from millcalc.files import remove_parts

    for child in multiprocessing.active_children():
        child.terminate()
    remove_parts()
    os.write(2, (TOLD + os.linesep).encode("ascii"))
    os._exit(STOPPED)
