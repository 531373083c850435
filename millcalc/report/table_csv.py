"""The motion table as CSV, for a spreadsheet or another program.

An empty cell is a value that is unknown or that the motion does not have.
"""

from __future__ import annotations

from typing import IO

from millcalc.check.columns import Columns
from millcalc.report.tuning import TABLE_CHUNK_ROWS

FIRST_COLUMNS = "motion,line,tool,kind,"  # how a table of ours begins


def write_table(stream: IO[str], columns: Columns, total: int) -> int:
    """Write the motion table of a checked program.

    stream: Where to; opened with ``newline=""``.
    columns: Its columns.
    total: Motions [-].
    Returns: Motions written [-].

    Note: Written in slices, so that a program of a million motions needs no second copy of its table.  The
      columns of the cut are empty without a simulated cut; feeds that are reached, and times, need a
      machine.
    """
    import pandas as pd

    stream.write(",".join(columns) + "\n")
    for begin in range(0, total, TABLE_CHUNK_ROWS):
        part = slice(begin, min(total, begin + TABLE_CHUNK_ROWS))
        frame = pd.DataFrame({name: make(part) for name, make in columns.items()})
        frame.to_csv(stream, header=False, index=False, na_rep="", lineterminator="\n")
    return total
