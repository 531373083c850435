"""``millcalc page``: the whole job in a browser, served by this machine to itself."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millcalc.cli.say import say


def command(
    folder: Annotated[
        Path | None,
        typer.Option(help="Where jobs are kept, a folder each; left out, millcalc's data folder."),
    ] = None,
    phone: Annotated[
        bool,
        typer.Option(
            "--phone",
            help="Open it to the local network too: shows a QR code and a one-time code. Whoever is in the network "
            "and types the code can use everything on the page; nothing on the way is encrypted.",
        ),
    ] = False,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Port; left out, the usual one or a free one.")
    ] = 0,
    no_open: Annotated[bool, typer.Option("--no-open", help="Only show the address.")] = False,
) -> None:
    """Open the page: settings, checks, log, help at the machine and measuring, in a browser.

    It is served to this machine alone, at an address with a random token; nothing goes to the internet.
    """
    import sys

    from millcalc.cutlog.where import data_folder
    from millcalc.page.serve import serve
    from millcalc.report.console import can_show_unicode

    kept = (folder or data_folder() / "jobs").expanduser().resolve()
    serve(kept, say, phone=phone, port=port, browse=not no_open, unicode=can_show_unicode(sys.stdout))
