"""The commands that keep the log from being lost: backup, restore, recover."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millcalc.cli.log_options import LogFile, open_log
from millcalc.cli.options import Force, Target
from millcalc.cli.say import say, tell


def backup(
    out: Target,
    force: Force = False,
    log: LogFile = None,
) -> None:
    """Copy the log, whole and verified, also while others write to it."""
    from millcalc.cli.watched import busy
    from millcalc.cutlog.backup import copy_log
    from millcalc.cutlog.guard import guarded

    with open_log(log) as opened:
        with busy("copying"), guarded(opened.path):
            copy_log(opened.connection, opened.path, out, force=force)
        entries = opened.count()
    tell(f"{entries} entries written to {out}; read again and found whole")


def restore(
    source: Annotated[Path, typer.Argument(help="A backup, or what `log recover` wrote.")],
    log: LogFile = None,
) -> None:
    """Put a backup in the log's place; what stands there now is kept beside it."""
    from millcalc.cli.watched import busy
    from millcalc.cutlog.restore import restore_log
    from millcalc.cutlog.where import log_path

    path = log_path(log, Path.cwd())
    with busy("restoring"):
        done = restore_log(path, source)
    tell(f"{path}: {done.entries} entries, as in {source}")
    if done.kept is not None:
        held = "which could not be read" if done.before is None else f"with {done.before} entries"
        tell(f"what stood there before, {held}, is kept as {done.kept}")


def recover(
    out: Target,
    force: Force = False,
    log: LogFile = None,
) -> None:
    """Save what can still be read of a damaged log into a new one, and say what was lost."""
    from millcalc.cli.watched import busy
    from millcalc.cutlog.recover import recover_log, spans
    from millcalc.cutlog.where import log_path

    path = log_path(log, Path.cwd())
    with busy("recovering"):
        done = recover_log(path, out, force=force)
    say(
        f"{done.entries} entries saved in {out}, {done.changes} lines of history, "
        f"{done.alterations} alterations of machines; {path} is as it was"
    )
    for text in done.mended[:20]:
        say(text)
    if len(done.mended) > 20:
        say(f"{len(done.mended) - 20} more entries were mended so")
    if done.doubtful:
        say(
            f"not what was written, and left out until `millcalc log edit` confirms it: entry {spans(done.doubtful)}"
        )
    if done.lost:
        tell(f"lost: entry {spans(done.lost)}; a backup may hold it")
    say(f'`millcalc log restore "{out}"` puts it in the place of the log')
    if done.lost or done.mended or done.doubtful:
        raise typer.Exit(1)
