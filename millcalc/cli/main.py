"""``millcalc``: mounts the commands and turns errors into messages and exit codes."""

from __future__ import annotations

import gc
import os
import sys
from typing import Annotated

import typer

from millcalc import __version__
from millcalc.cli.interrupt import STOPPED, TOLD, heard
from millcalc.cli.lazy import HELP_OPTIONS, LazyGroup
from millcalc.cli.say import say

CAUTION = (
    "Milling can blind, cut, deafen and burn. Glasses and ear protection on, hands away, dust and fumes drawn "
    "off, a fire extinguisher near, never unattended. Local codes and the makers' limits go first; these "
    "numbers are advice, you decide."
)

# how often Python looks for objects in circles: what is imported stays, and a short process ends before it pays
_OBJECTS_BETWEEN_SEARCHES = 500_000

app = typer.Typer(
    name="millcalc",
    cls=LazyGroup,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    context_settings=HELP_OPTIONS,
    help="Cutting settings with reasons, and a G-code program looked over before it is run.",
    epilog=CAUTION,
)


def _version(value: bool) -> None:
    if value:
        say(f"millcalc {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and end.")
    ] = False,
) -> None:
    """Cutting settings with reasons, and a G-code program looked over before it is run."""


def run() -> None:
    """Run the command line; known errors become one message and their exit code.

    Raises SystemExit: Always: 0 clean, 1 findings or limits exceeded, 2 unusable input, 130 interrupted.
    """
    _prepare_streams()
    try:
        with heard():
            app(standalone_mode=True)
    except KeyboardInterrupt:
        say(TOLD, err=True)
        sys.exit(STOPPED)
    except SystemExit as ended:
        if ended.code == STOPPED:  # typer has caught it
            say(TOLD, err=True)
        raise
    except BrokenPipeError:
        # the reader of our pipe went away (for example `| head`): not an error of ours
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as error:
        sys.exit(_report(error))


def main() -> None:
    """Run the command line as a process of its own: after Ctrl-C it ends at once, whatever is still in memory.

    Raises SystemExit: Always, see :func:`run`.
    """
    gc.set_threshold(_OBJECTS_BETWEEN_SEARCHES, 20, 20)
    # else every installed package is searched for plug-ins of the table models, which would run in this process
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
    try:
        run()
    except SystemExit as ended:
        if ended.code == STOPPED:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(STOPPED)
        if ended.code is None or isinstance(ended.code, int):
            _leave(ended.code or 0)
        gc.freeze()  # else all of it is searched once more, to be given back by the end of the process anyway
        raise


def _leave(code: int) -> None:
    """End the process without giving its memory back piece by piece, a tenth of what a short command takes.

    code: Exit code.

    Note: What was registered for the end is done first. Returns where somebody still looks on, another thread works or
      the output cannot be written: Python ends the process in its own way then, and says so.
    """
    import atexit
    import threading

    others = [thread for thread in threading.enumerate() if thread is not threading.main_thread()]
    if sys.flags.inspect or sys.gettrace() or sys.getprofile() or not all(other.daemon for other in others):
        return
    atexit._run_exitfuncs()
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except (OSError, ValueError):
        return
    os._exit(code & 0xFF)


def _report(error: Exception) -> int:
    """Print an error as a person should read it and give the exit code."""
    from millcalc.errors import MillcalcError

    if isinstance(error, MillcalcError):
        say(f"millcalc: {error}", err=True, names=[getattr(error, "file", None) or ""])
        return error.exit_code
    if isinstance(error, OSError):
        where = f"{error.filename}: " if error.filename else ""
        say(f"millcalc: {where}{error.strerror or error}", err=True, names=[str(error.filename)])
        return 2
    if isinstance(error, MemoryError):
        say("millcalc: not enough memory for this; close other programs or use a coarser cell", err=True)
        return 2
    if os.environ.get("MILLCALC_TRACEBACK"):
        raise error
    say(
        f"millcalc: an error of millcalc itself, please report it: {type(error).__name__}: {error}\n"
        "(set MILLCALC_TRACEBACK=1 and run again to see where)",
        err=True,
    )
    return 3


def _prepare_streams() -> None:
    """Keep odd terminals from failing on a character they cannot show."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
