"""What cuts what, from the options of a command, the job and the shop."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.cli.common import quantity
from millcalc.errors import InputError

if TYPE_CHECKING:
    from millcalc.cli.options import Units
    from millcalc.job.setup import Setup
    from millcalc.limits.tooling import Tooling
    from millcalc.tables.models import Machine, Shop
    from millcalc.units_show import System


@dataclass(frozen=True)
class Chosen:
    """What a command works with.

    tooling: What cuts what.
    units: ``mm`` or ``in``: of bare numbers and of the answer.
    shop: The user's shop.
    setup: The job, where one is named.
    """

    tooling: Tooling
    units: System
    shop: Shop | None
    setup: Setup | None

    def proven(self, asked: bool | None) -> bool:
        """Whether the cut counts as proven: as asked, else as the job says.

        asked: What ``--proven/--first-cut`` said.
        """
        if asked is not None:
            return asked
        return self.setup is not None and self.setup.job.proven


def choose_tooling(
    machine: str | None,
    material: str | None,
    cutter: str | None,
    *,
    stickout: str | None = None,
    drop: str | None = None,
    job: Path | None = None,
    tool: int | None = None,
    units: Units | None = None,
) -> Chosen:
    """Machine, material and cutter from the options, the job and the shop, in this order.

    machine, material, cutter: Names on the command line.
    stickout, drop: As typed.
    job: Job file.
    tool: Tool number of the job [-].
    units: Units on the command line; left out, the shop's.
    Returns: Ready for the limits.
    Raises InputError: If something is missing or unknown.
    """
    from millcalc.tables import load_shop

    shop = load_shop()
    shown: System = units.value if units else shop.units if shop else "mm"
    chosen = {"machine": machine, "material": material, "cutter": cutter, "stickout": stickout, "drop": drop}
    setup = None
    if job is not None:
        from millcalc.job import build_setup, load_job

        setup = build_setup(load_job(job), job, shop)
    return Chosen(_pick(chosen, shown, shop, setup, tool), shown, shop, setup)


def choose_machine(name: str | None, shop: Shop | None) -> Machine:
    """The machine named, or the shop's.

    name: Name on the command line or in the job.
    shop: The user's shop.
    Returns: The table row.
    Raises InputError: If neither names one.
    """
    from millcalc.tables import list_names, load_machine

    wanted = name or (shop.machine if shop is not None else None)
    if wanted is None:
        raise InputError(
            "no machine",
            "one of: " + ", ".join(list_names("machines")),
            "give --machine NAME, or write shop.yaml with `machine: NAME` so that it can be left out",
            field="--machine",
        )
    return load_machine(wanted)


def _pick(
    chosen: dict[str, str | None], units: str, shop: Shop | None, setup: Setup | None, tool: int | None
) -> Tooling:
    from millcalc import units as read
    from millcalc.advise.others import owned_names
    from millcalc.limits.build import make_tooling
    from millcalc.tables import list_names, load_cutter, load_material

    stickout = quantity(chosen["stickout"], "stickout", read.length_mm, units)
    drop = quantity(chosen["drop"], "drop", read.length_mm, units)
    if setup is not None:
        from millcalc.limits.fitted import tooling_for

        return tooling_for(
            setup,
            tool,
            machine=choose_machine(chosen["machine"], shop) if chosen["machine"] else None,
            material=load_material(chosen["material"]) if chosen["material"] else None,
            cutter=load_cutter(chosen["cutter"]) if chosen["cutter"] else None,
            stickout_mm=stickout,
            drop_mm=drop,
        )
    ask_for_missing(chosen, shop)
    say_the_sort(chosen["material"])
    _all_missing(chosen, shop)
    machine = choose_machine(chosen["machine"], shop)
    if chosen["material"] is None:
        raise InputError(
            "no material",
            "one of: " + ", ".join(list_names("materials")),
            "give --material NAME, or --job JOB.yaml",
            field="--material",
        )
    if chosen["cutter"] is None:
        owned = owned_names(shop)
        raise InputError(
            "no cutter",
            "one of " + ("yours: " if owned else "these: ") + ", ".join(owned or list_names("cutters")),
            "give --cutter NAME",
            field="--cutter",
        )
    return make_tooling(
        machine,
        load_material(chosen["material"]),
        load_cutter(chosen["cutter"]),
        stickout_mm=stickout,
        drop_mm=drop,
    )


def say_the_sort(material: str | None) -> None:
    """Say which sort a word such as brass was taken for, and what the others are.

    material: As typed; None says nothing.
    """
    from millcalc.cli.say import say
    from millcalc.tables.locate import search_roots
    from millcalc.tables.names import sorts_of

    found = sorts_of("materials", material, search_roots()) if material else None
    if found is not None:
        say(f"{material}: taken as {found[0]}; if yours is another, say {' or '.join(found[1])}", err=True)


def ask_for_missing(chosen: dict[str, str | None], shop: Shop | None) -> None:
    """On a terminal, let the person choose what the options leave open; in a pipe nothing is asked.

    chosen: Names by option; filled in.
    shop: The person's shop: its machine is taken, its cutters are the choices.
    """
    import sys

    from millcalc.advise.others import owned_names
    from millcalc.cli.choose import choose, table_choices
    from millcalc.cli.say import answer_to, tell

    if sys.stdin is None or not sys.stdin.isatty() or not sys.stdout.isatty():
        return
    owned = {"cutter": owned_names(shop), "machine": [shop.machine] if shop is not None else []}
    for what in ("machine", "material", "cutter"):
        if chosen[what] is not None or (what == "machine" and owned["machine"]):
            continue
        names = table_choices(f"{what}s", owned.get(what, []))
        chosen[what] = choose(f"which {what}?", names, answer_to, tell, kind=f"{what}s")


def _all_missing(chosen: dict[str, str | None], shop: Shop | None) -> None:
    """Name everything that is missing at once, where it is more than one thing."""

    missing = [name for name in ("machine", "material", "cutter") if chosen[name] is None]
    if shop is not None and shop.machine is not None and "machine" in missing:
        missing.remove("machine")
    if len(missing) > 1:
        raise InputError(
            f"no {', no '.join(missing)}",
            "; ".join(f"`millcalc tables {name}s` lists the {name}s" for name in missing),
            "give " + " ".join(f"--{name} NAME" for name in missing) + ", or --job JOB.yaml",
        )
