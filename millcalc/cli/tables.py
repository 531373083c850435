"""``millcalc tables``: list and show the tables, or check one of your own."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millcalc.cli.options import Json
from millcalc.cli.say import say, tell


def command(
    kind: Annotated[str | None, typer.Argument(help="materials, cutters, machines or tuning.")] = None,
    name: Annotated[str | None, typer.Argument(help="One entry, by name or alias.")] = None,
    check: Annotated[Path | None, typer.Option(help="Check a table file of your own.")] = None,
    json: Json = False,
) -> None:
    """Show the tables of materials, cutters and machines with the source of every value."""
    from millcalc.errors import InputError

    if check is not None:
        _check(check)
        return
    kinds = ("materials", "cutters", "machines")
    if kind is None:
        for each in kinds:
            _list(each, json)
        return
    if kind == "tuning":
        _tuning(name)
        return
    if kind not in kinds:
        raise InputError(repr(kind), "materials, cutters, machines or tuning", field="kind")
    if name is None:
        _list(kind, json)
    else:
        _show(kind, name, json)


def _tuning(stage: str | None) -> None:
    """Print every number that tunes the program, or those of one stage, with their reasons."""
    from millcalc.errors import InputError
    from millcalc.tuning import tuning_table

    rows = tuning_table()
    stages = sorted({row.stage for row in rows})
    if stage is not None and stage not in stages:
        raise InputError(repr(stage), ", ".join(stages), field="stage")
    for row in rows:
        if stage in (None, row.stage):
            tell(f"{row.stage} {row.name} = {row.value}\n    {row.reason}")


def _check(path: Path) -> None:
    from millcalc.tables import check_table_file

    result = check_table_file(path)
    for error in result.errors:
        say(str(error), err=True)
    for note in result.notes:
        tell(f"{path}: note: {note}")
    if not result.ok:
        raise typer.Exit(2)
    tell(f"{path}: can be used ({result.kind}); the values themselves were not judged")


def _list(kind: str, as_json: bool) -> None:
    from millcalc.report.console import make_console, plain
    from millcalc.tables import summaries

    found, errors = summaries(kind)
    for error in errors:
        say(f"left out: {error}", err=True)
    rows = [(row.name, row.title, row.group + ("" if row.shipped else ", yours")) for row in found]
    if as_json:
        import json

        say(
            json.dumps(
                {kind: [{"name": n, "title": t, "group": g} for n, t, g in rows]},
                ensure_ascii=False,
                indent=2,
            )
        )
        return
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    console = make_console()
    console.print(Text(kind, style="bold"))
    grid = Table.grid(padding=(0, 3))
    for name, title, group in rows:
        grid.add_row(name, plain(title), plain(group))
    console.print(Padding(grid, (0, 0, 1, 2)))


def _show(kind: str, name: str, as_json: bool) -> None:
    from millcalc.report.console import make_console, plain
    from millcalc.tables import describe, load_row, load_sources
    from millcalc.tables.values import TRUST_WORDS

    row = load_row(kind, name)
    if as_json:
        say(row.model_dump_json(indent=2))
        return
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    console = make_console()
    data = row.model_dump()
    console.print(Text(plain(f"{data['title']}  ({data['name']})"), style="bold"))
    items = describe(kind, name)
    keys = dict.fromkeys(item.source for item in items if item.source)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("value of", no_wrap=True)
    table.add_column("is (source, trust)", overflow="fold")
    for item in items:
        trust = item.confidence if item.confidence != item.source.replace("-", " ") else ""
        told = Text(plain(f"{item.text} {item.unit}".strip()))
        if origin := ", ".join(filter(None, (item.source, trust))):
            told.append(plain(f" ({origin})"), style="dim")
        table.add_row(plain(item.field), told)
        if item.note:
            table.add_row("", Text(plain(item.note), style="dim"))
    console.print(Padding(table, (0, 0, 0, 2)))
    sources = load_sources()
    console.print()
    console.print(Text("sources", style="bold"))
    for key in keys:
        source = sources.get(key)
        if source is not None:
            trust = TRUST_WORDS.get(source.kind, source.kind)
            console.print(Padding(Text(plain(f"{key}: {source.reference} ({trust})")), (0, 0, 0, 2)))
