"""``millcalc new machine``, ``new cutter`` and ``new shop``: own tables by answering a few questions."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from millcalc.cli.choose import Ask, Say, choose, table_choices, validated
from millcalc.errors import InputError


def _name(text: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]*", text):
        raise ValueError(f"{text!r}: a file name of letters, digits, point and hyphen")
    return text.lower()


def _whole(low: int, high: int) -> Any:
    def read(text: str) -> int:
        value = int(text)
        if not low <= value <= high:
            raise ValueError(f"{value}: from {low} to {high}")
        return value

    return read


def _above_zero(text: str) -> float:
    from millcalc import units

    value = units.length_mm(text)
    if value <= 0:
        raise ValueError(f"length: found {text}; write a length above zero, as 6 mm or 1/4 in")
    return value


def _axes(text: str) -> dict[str, float]:
    from millcalc import units

    parts = re.split(r"[\s,;x]+", text.replace("mm", " ").strip())
    if len(parts) != 3:
        raise ValueError("three lengths: X Y Z, as 600 400 100")
    return dict(zip("xyz", (units.length_mm(part) for part in parts), strict=True))


def write_table(folder: Path, kind: str, name: str, data: dict[str, Any], remark: str) -> Path:
    """Write a table of the person's and read it back; nothing stays that cannot be used.

    folder: Working folder.
    kind: ``machines`` or ``cutters``.
    name: File stem.
    data: Fields.
    remark: First line, a comment.
    Returns: The file.
    Raises InputError: If the file is there already, or what was answered makes no table.
    """
    import yaml

    from millcalc.files import new_file
    from millcalc.tables import load_row

    path = folder / "materials" / kind / f"{name}.yaml"
    if path.exists():
        raise InputError(
            "a file that exists already", "a new name", "choose another, or remove it", file=str(path)
        )
    path.parent.mkdir(parents=True, exist_ok=True)
    text = f"# {remark}\n" + yaml.safe_dump(data, sort_keys=False, allow_unicode=True)
    with new_file(path) as part:
        part.write_text(text, encoding="utf-8", newline="\n")
    try:
        load_row(kind, name)
    except InputError:
        path.unlink()
        raise
    return path


def new_machine(folder: Path, ask: Ask, say: Say) -> Path:
    """Ask for a machine and write its table.

    folder: Working folder.
    ask, say: Put a question to the person; show a line.
    Returns: The file.
    """
    from millcalc import units
    from millcalc.tables import load_machine

    base = choose("1 of 6: which is it most like?", table_choices("machines"), ask, say, kind="machines")
    title = validated("2 of 6: what do you call it", str, ask, say, default="My machine")
    travel = validated("3 of 6: travel X Y Z in mm, as 600 400 100", _axes, ask, say)
    watts = validated("4 of 6: rating of the spindle's motor, as 800 W", units.power_w, ask, say)
    fastest = validated("5 of 6: highest spindle speed, rev/min", units.speed_rpm, ask, say)
    name = validated("6 of 6: name of the file", _name, ask, say, default="my-machine")
    like = load_machine(base)
    data: dict[str, Any] = {"based_on": base, "title": title}
    if travel:
        data["travel_mm"] = _axes(travel)
    spindle: dict[str, Any] = {}
    if fastest:
        spindle["max_rpm"] = units.speed_rpm(fastest)
    if watts:
        # the class's curve, scaled: its table says what of a rating reaches the shaft
        top = max(point.power_w for point in like.spindle.power)
        shaft = units.power_w(watts) * _SHAFT_SHARE
        spindle["power"] = [
            {"rpm": point.rpm, "power_w": round(shaft * point.power_w / top, 1)}
            for point in like.spindle.power
        ]
    if spindle:
        data["spindle"] = spindle
    path = write_table(
        folder, "machines", name, data, "Your machine; what is not here is typical of its class."
    )
    say(f"Wrote {path}. What you did not give is that of {like.title}, and marked typical.")
    say(f"next: millcalc settings --machine {name} --material al-6061-t6 --cutter flat-6mm-1f")
    say("better numbers than typical ones: millcalc measure")
    return path


_SHAFT_SHARE = 0.8  # of a motor's rating that reaches the shaft, as in the shipped classes. Estimate


def new_cutter(folder: Path, ask: Ask, say: Say) -> Path:
    """Ask for a cutter and write its table.

    folder: Working folder.
    ask, say: Put a question to the person; show a line.
    Returns: The file.
    """
    from millcalc import units

    kinds = [(kind, "") for kind in ("flat", "ball", "bull-nose", "vee", "engraving", "tapered ball", "facing",
                                     "twist drill", "spot drill")]  # fmt: skip
    kind = choose("1 of 6: what kind of cutter?", kinds, ask, say)
    given: dict[str, str] = {}
    for number, (field, question) in enumerate(
        (("diameter_mm", "cutting diameter, as 6 mm or 1/4 in"), ("flute_length_mm", "length of the flutes"),
         ("shank_mm", "diameter of the shank")), 2
    ):  # fmt: skip
        given[field] = validated(
            f"{number} of 6: {question}", _above_zero, ask, say, needed=field == "diameter_mm"
        )
    flutes = validated("5 of 6: flutes", _whole(1, 12), ask, say, default="1")
    size = f"{units.length_mm(given['diameter_mm']):g}mm"
    name = validated(
        "6 of 6: name of the file", _name, ask, say, default=f"my-{kind.replace(' ', '-')}-{size}-{flutes}f"
    )
    data: dict[str, Any] = {"kind": kind, "flutes": int(flutes)}
    data |= {field: text for field, text in given.items() if text}
    path = write_table(folder, "cutters", name, data, "Your cutter; what is not here is typical of its kind.")
    say(f"Wrote {path}. What you did not give is that of the nearest cutter of the tables.")
    say(f"next: millcalc settings --machine gantry-800w --material al-6061-t6 --cutter {name}")
    return path


def new_shop(folder: Path, ask: Ask, say: Say) -> Path:
    """Ask for machine, cutters and units, and write shop.yaml.

    folder: Working folder.
    ask, say: Put a question to the person; show a line.
    Returns: The file.
    """
    import yaml

    from millcalc.files import new_file
    from millcalc.tables.shop import read_shop

    path = folder / "shop.yaml"
    if path.exists():
        raise InputError(
            "a file that exists already", "no shop.yaml yet", "edit it, or remove it", file=str(path)
        )
    machine = choose("1 of 3: your machine?", table_choices("machines"), ask, say, kind="machines")
    say("2 of 3: your cutters, one after the other; an empty answer ends the list")
    cutters: list[str] = []
    choices = table_choices("cutters")
    while text := ask(f"cutter {len(cutters) + 1}, as 6mm 1 flute: ").strip():
        cutters.append(choose("", choices, ask, say, kind="cutters", first=text))
        say(f"  {cutters[-1]}")
    system = choose("3 of 3: units?", [("mm", "millimetres"), ("in", "inches")], ask, say)
    data = {"machine": machine, "cutters": cutters, "units": system}
    with new_file(path) as part:
        part.write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8", newline="\n")
    read_shop(path)
    say(f"Wrote {path}. --machine can now be left out, and cutters to choose from are yours.")
    say("next: millcalc settings --material al-6061-t6" + (f" --cutter {cutters[0]}" if cutters else ""))
    return path
