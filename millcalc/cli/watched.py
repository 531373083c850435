"""What a person sees while something takes long: a bar on standard error of a terminal, nothing anywhere else."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress, ProgressColumn

    from millcalc.check.prepare import CheckOptions


def make_bar(last: ProgressColumn) -> Progress:
    """A bar on standard error that leaves nothing behind.

    last: What stands behind the bar.
    Returns: The bar, not begun.
    """
    from rich.progress import BarColumn, Progress, TextColumn

    from millcalc.report.console import make_console

    words = TextColumn("{task.description}")
    return Progress(words, BarColumn(), last, console=make_console(sys.stderr), transient=True)


@contextmanager
def watched(options: CheckOptions) -> Iterator[CheckOptions]:
    """Show the stages of a check as they are done, for as long as the block lasts.

    options: Options of the check.
    Yields: The same, with a progress where a person is watching.
    """
    if not sys.stderr.isatty():
        yield options
        return
    from rich.progress import TimeRemainingColumn

    with make_bar(TimeRemainingColumn()) as bar:
        task = bar.add_task("reading", total=1.0)

        def tell(stage: str, share: float) -> None:
            bar.update(task, description=stage[:40], completed=share)

        yield replace(options, progress=tell)


@contextmanager
def busy(what: str) -> Iterator[None]:
    """Show that something is being done whose end is not known, for as long as the block lasts.

    what: What is done, in a few words.
    """
    if not sys.stderr.isatty():
        yield
        return
    from rich.progress import TimeElapsedColumn

    with make_bar(TimeElapsedColumn()) as bar:
        bar.add_task(what, total=None)
        yield
