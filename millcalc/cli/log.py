"""``millcalc log``: the cuts that were made, how they went, and what they teach."""

from __future__ import annotations

import typer

from millcalc.cli import log_cuts, log_files, log_learn, log_safety
from millcalc.cli.lazy import Group

app = typer.Typer(
    cls=Group,
    no_args_is_help=True,
    rich_markup_mode=None,
    add_completion=False,
    help="The cuts that were made, how they went, what they teach.",
)


@app.callback()
def _root() -> None:
    """The cuts that were made, how they went, what they teach."""


app.command("add")(log_cuts.add)
app.command("list")(log_cuts.list_cuts)
app.command("show")(log_cuts.show)
app.command("similar")(log_cuts.similar)
app.command("learn")(log_learn.learn)
app.command("stats")(log_learn.stats)
app.command("wear")(log_learn.wear)
app.command("edit")(log_cuts.edit)
app.command("remove")(log_cuts.remove)
app.command("undo")(log_cuts.undo)
app.command("machine-changed")(log_learn.machine_changed)
app.command("export")(log_files.export)
app.command("import")(log_files.import_file)
app.command("backup")(log_safety.backup)
app.command("restore")(log_safety.restore)
app.command("recover")(log_safety.recover)
app.command("verify")(log_files.verify)
app.command("where")(log_files.where)
