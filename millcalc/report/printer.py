"""The one way in which text gets to a terminal: wrapped, indented, in characters that the stream can carry."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from millcalc.report.console import plain
from millcalc.report.wrapping import wrap

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table


class Printer:
    """Prints lines and tables.

    console: Where to print.
    indent: Blanks before a line where none are asked for [-].
    hang: Further blanks before all but the first line of a text that is indented [-].
    """

    def __init__(self, console: Console, indent: int = 0, *, hang: int = 0) -> None:
        self.console, self.indent, self.hang = console, indent, hang

    def say(
        self,
        text: str = "",
        indent: int | None = None,
        style: str = "",
        *,
        hang: int | None = None,
        keep: bool = False,
    ) -> None:
        """Print a text, wrapped at the width.

        indent: Blanks before each line; the printer's own where left out [-].
        hang: Further blanks before all lines but the first; the printer's own where left out [-].
        keep: Cut it off at the width instead of wrapping it.
        """
        blanks = self.indent if indent is None else indent
        hung = (self.hang if blanks else 0) if hang is None else hang
        shown = plain(text, self.console.file)
        room = max(20, self.console.width - blanks)
        if keep:
            cut = plain("…", self.console.file)
            lines = [shown if len(shown) <= room else shown[: room - len(cut)] + cut]
        else:
            lines = wrap(shown, room, hung) or [""]
        for line in lines:
            self.raw(" " * blanks + line, style)

    def raw(self, text: str, style: str = "") -> None:
        """Print one line as it is, whatever the width."""
        from rich.text import Text

        row = Text(text.rstrip(), style=style, no_wrap=True, overflow="ignore")
        self.console.print(row, crop=False)

    def head(self, text: str) -> None:
        """Print a heading after an empty line."""
        self.raw("")
        self.say(text, 0, "bold")

    def table(self, columns: Sequence[tuple[str, str]], *, head: str = "dim") -> Table:
        """A table without lines, to be filled and given to :meth:`show`.

        columns: Title and alignment of each; ``left`` or ``right``, with ``wrap`` behind it where a cell may be broken.
        head: Style of the titles.
        Returns: Empty.
        """
        from rich.table import Table

        found = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style=head)
        for title, how in columns:
            shown = plain(title, self.console.file)
            side: Literal["left", "right"] = "right" if how.startswith("right") else "left"
            found.add_column(shown, justify=side, no_wrap=not how.endswith("wrap"))
        return found

    def row(self, table: Table, cells: Sequence[str], style: str = "") -> None:
        """Add a row to a table.

        table: The table.
        cells: Its texts.
        """
        table.add_row(*(plain(cell, self.console.file) for cell in cells), style=style)

    def grid(self, rows: Sequence[Sequence[str]], *, bold: int | None = None, indent: int = 2) -> None:
        """Print rows in columns without titles.

        rows: Their texts.
        bold: Column that is bold, from 0 [-].
        indent: Blanks before it [-].
        """
        from rich.table import Table

        found = Table.grid(padding=(0, 3))
        for column in range(max((len(row) for row in rows), default=0)):
            found.add_column(style="bold" if column == bold else None)
        for row in rows:
            self.row(found, row)
        self.show(found, indent)

    def show(self, what: Any, indent: int = 2) -> None:
        """Print a table.

        what: The table.
        indent: Blanks before it [-].
        """
        from rich.padding import Padding

        self.console.print(Padding(what, (0, 0, 0, indent)))
