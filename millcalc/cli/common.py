"""What several commands share: reading quantities, writing files whole, wrapping, the notice of a first run."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, TypeVar

from millcalc.errors import InputError

if TYPE_CHECKING:
    from millcalc.cli.options import Units
    from millcalc.units_show import System

T = TypeVar("T")


def quantity(text: str | None, field: str, read: Callable[..., T], *args: Any) -> T | None:
    """Read an option with a unit.

    text: What the person typed.
    field: Option name for the error.
    read: Reader of :mod:`millcalc.units`.
    *args: Further arguments of the reader, such as the default unit.
    Returns: The value; None when the option was not given.
    Raises InputError: If it cannot be read.
    """
    if text is None:
        return None
    try:
        return read(text, *args)
    except ValueError as error:
        _, mark, found = str(error).partition(": found ")  # the option says already what it is
        raise InputError(found if mark else str(error), field=f"--{field}") from None


_CELLS_MM = (
    0.005,
    50.0,
)  # finer no home machine holds and no memory bears, coarser shows no cutter; estimate


def cell_size_mm(text: str | None) -> float | None:
    """Read ``--cell``: the side of a cell of the simulated stock.

    text: What the person typed.
    Returns: Side [mm]; None when not given.
    Raises InputError: If it cannot be read, or is finer or coarser than any stock is cut into.
    """
    from millcalc import units

    size_mm = quantity(text, "cell", units.length_mm)
    if size_mm is not None and not _CELLS_MM[0] <= size_mm <= _CELLS_MM[1]:
        raise InputError(
            f"{size_mm:g} mm", f"{_CELLS_MM[0]:g} mm to {_CELLS_MM[1]:g} mm", "leave it out", field="--cell"
        )
    return size_mm


_SLOWEST_MM_MIN = 0.01  # no cutter cuts below it, it only rubs; estimate


def programmed_feed_mm_min(text: str | None, default: str) -> float | None:
    """Read ``--feed``: a feed to be judged.

    text: What the person typed.
    default: Unit of a bare number.
    Returns: Feed [mm/min]; None when not given.
    Raises InputError: If it cannot be read, or is so slow that nothing is cut.
    """
    from millcalc import units

    feed = quantity(text, "feed", units.feed_mm_min, default)
    if feed is not None and 0 < feed < _SLOWEST_MM_MIN:
        raise InputError(
            f"{feed:g} mm/min", f"{_SLOWEST_MM_MIN:g} mm/min or more", "leave it out", field="--feed"
        )
    return feed


def accepted_findings(entries: Iterable[str] | None) -> dict[str, str]:
    """Accepted codes with their reasons, as typed.

    entries: ``CODE=reason`` each.
    Returns: Reason by code.
    Raises InputError: If a reason is missing.
    """
    quiet = {}
    for entry in entries or ():
        code, _, reason = entry.partition("=")
        if len(reason.strip()) < 3:
            raise InputError(
                repr(entry), "CODE=reason", "say why it is accepted; it is printed", field="--accept"
            )
        quiet[code.strip().upper()] = reason.strip()
    return quiet


def shown_units(units: Units | None) -> System:
    """Units shown: those asked for, else the shop's, else millimetres.

    units: What ``--units`` said.
    Returns: ``mm`` or ``in``.
    """
    from millcalc.tables import load_shop

    if units is not None:
        return units.value
    shop = load_shop()
    return shop.units if shop else "mm"


def wrapped(line: str, stream: IO[str] | None = None, kept: Sequence[str] = ()) -> list[str]:
    """A line of text broken at words to the width of the output, further parts indented like the first.

    line: A line; short ones stay as they are.
    stream: Where it goes; standard output when None.
    kept: Parts with blanks in them, such as names of files, that stay whole.
    Returns: Lines that fit, but for a word that is longer than a line, such as a path to copy.
    """
    from millcalc.report.console import make_console
    from millcalc.report.wrapping import wrap

    width = make_console(stream).width
    if len(line) <= width:
        return [line]
    if line.startswith("next: "):  # a command to copy
        kept = [*kept, line.removeprefix("next: ")]
    indent = line[: len(line) - len(line.lstrip())]
    room = width - len(indent)
    return [indent + part for part in wrap(line.strip(), room, 2, whole=True, kept=kept)]


_COMPILED_FROM_BYTES = 60_000  # programs below this are read without compiled kernels [byte]


def compile_notice(*programs: Path | None, simulates: bool = False) -> None:
    """Say so when this run will compile kernels first, and let a second process compile half of them.

    *programs: Programs that will be read; large ones are read by compiled kernels.
    simulates: Whether a cut will be simulated.
    """
    import sys

    from millcalc.kernels import needs_compile

    modules = ["walk_kernels"] if simulates else []
    reads = any(p is not None and p.is_file() and p.stat().st_size > _COMPILED_FROM_BYTES for p in programs)
    if reads:
        modules.append("read_kernels")
    if not modules or not needs_compile(*modules):
        return
    how = ""
    if simulates and needs_compile("walk_kernels"):
        from millcalc.check.first_run import begin

        how = ", in two processes" if begin(reads=reads and needs_compile("read_kernels")) else ""
    print(
        f"first run: preparing the fast arithmetic{how}, which takes up to a minute once ...", file=sys.stderr
    )
