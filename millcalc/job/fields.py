"""What each field of a job file means, in one line: used for the written file, the schema and the guide."""

from __future__ import annotations

from typing import Final

from pydantic import BaseModel

QUANTITY_SUFFIXES: Final = ("_n_mm2", "_mm2", "_mm", "_kg_m3", "_n")
UNKNOWN_WORDS: Final = ("unknown", "?")

NOTES: Final[dict[str, str]] = {
    "title": "name of the job",
    "units": "unit of lengths written without one: mm or in",
    "machine": "name of a machine table; see `millcalc tables machines`",
    "material": "name of a material table; see `millcalc tables materials`",
    "grade_known": "true when the alloy or grade was read from a label, false for an unmarked offcut",
    "program": "program file, relative to this file",
    "cooling": "none, air, brush (drops by hand), mist or flood",
    "proven": "true when this cut has run before; false keeps the first-cut reserve",
    "notes": "anything worth knowing next time",
    "stock": "the plate or block as it lies on the bed",
    "stock.size_x_mm": "size along X",
    "stock.size_y_mm": "size along Y",
    "stock.thickness_mm": "measured thickness",
    "stock.thickness_spread_mm": "thickest minus thinnest place, if measured",
    "zero": "where program zero lies",
    "zero.xy": "front-left, front-right, back-left, back-right or centre of the stock",
    "zero.offset_x_mm": "program zero measured from there along +X",
    "zero.offset_y_mm": "program zero measured from there along +Y",
    "zero.z": "stock top, or bed top (the surface the stock lies on)",
    "zero.offset_z_mm": "height of program zero above that surface",
    "zero.work_offset": "work offset that was zeroed, such as G54",
    "bed": "what the stock lies on",
    "bed.spoilboard_mm": "thickness of the sacrificial board left under the stock; 0 for none",
    "bed.below": "what is under that board: wood, metal or nothing",
    "bed.allowance_mm": "how deep the program may cut into the board",
    "bed.flatness_mm": "height error over the bed, if known",
    "bed.drop_mm": "from the Z carriage's lowest bearing to the cutter tip while it cuts",
    "bed.wood_density_kg_m3": "density of the wood that holds the screws",
    "screws": "hold-down screws from program zero; an empty list [] when there are none",
    "screws.x_mm": "position along X from program zero",
    "screws.y_mm": "position along Y from program zero",
    "screws.size": "standard size such as M4 pan, M5 socket, wood 4.0; gives head and shank",
    "screws.head_diameter_mm": "head (or washer) diameter, if not the standard one",
    "screws.shank_diameter_mm": "outside diameter of the thread",
    "screws.head_height_mm": "height of the head above the stock; 0 when sunk flush",
    "screws.depth_in_bed_mm": "thread length in the bed",
    "screws.placed": "measured or guessed: decides how far to stay away",
    "screws.holds": "false for a screw that only happens to be there",
    "screws.name": "name used in the report",
    "clamps": "clamps and other boxes to stay out of; an empty list [] when there are none",
    "clamps.x_min_mm": "left side, from program zero",
    "clamps.x_max_mm": "right side, from program zero",
    "clamps.y_min_mm": "front side, from program zero",
    "clamps.y_max_mm": "back side, from program zero",
    "clamps.height_mm": "top above the stock top",
    "clamps.placed": "measured or guessed: decides how far to stay away",
    "clamps.holds": "false for something that only stands in the way",
    "clamps.name": "name used in the report",
    "hold": "what else holds the work; none when screws and clamps are all, unknown when nobody knows",
    "hold.kind": "tape, vacuum, vice, side clamps, waste screws, tabs, onion skin or unknown",
    "hold.area_mm2": "area that sticks, or that the vacuum acts on, such as 60 cm2",
    "hold.shear_n_mm2": "shear strength of the tape, from its maker or measured; left out: an estimate",
    "hold.pressure_n_mm2": "vacuum as the gauge shows it below the air, such as 70 kPa",
    "hold.force_n": "force with which vice or side clamps press, such as 1500 N",
    "hold.friction": "friction of the work on what it is pressed against; left out: 0.2",
    "hold.count": "number of waste screws or tabs",
    "hold.shank_diameter_mm": "outside diameter of a waste screw's thread",
    "hold.depth_in_bed_mm": "thread length of a waste screw in the bed",
    "hold.length_mm": "length of a tab along the outline; of a skin: once round the part",
    "hold.thickness_mm": "thickness of tab or skin",
    "hold.source": "where shear, friction or force is from",
    "cutters": "cutters by the tool number the program uses",
    "cutters.cutter": "name of a cutter table; see `millcalc tables cutters`",
    "cutters.stickout_mm": "from the collet face to the tip",
    "cutters.diameter_mm": "measured cutting diameter, if not the nominal one",
    "cutters.flute_length_mm": "measured flute length",
    "cutters.shank_mm": "measured shank diameter",
    "cutters.flutes": "number of cutting edges, if not the table's",
    "cutters.centre_cutting": "true when the end cuts to the centre",
    "nose": "what sits above the cutter, where it differs from the machine table",
    "nose.collet_nut_diameter_mm": "diameter of the collet nut",
    "nose.collet_nut_length_mm": "length of the collet nut",
    "nose.body_diameter_mm": "diameter of the spindle body above the nut",
    "nose.shoe_radius_mm": "radius of a dust shoe around the cutter",
    "nose.shoe_height_mm": "height of the shoe's underside above the tip",
    "spindle": "how the speed is set",
    "spindle.set_by": "program (S word), dial (by hand) or fixed",
    "spindle.dial_mark": "mark the dial is set to",
    "spindle.rpm": "speed at that mark, if known [rev/min]",
    "position": "program zero in machine travel, measured from the lower end of each axis",
    "position.x_mm": "along X",
    "position.y_mm": "along Y",
    "position.z_mm": "along Z",
    "controller": "what the controller can do",
    "controller.profile": "name of a dialect profile",
    "controller.arcs": "true when it runs arcs",
    "controller.tool_changer": "true when it changes tools by itself",
    "controller.canned_cycles": "true when it runs drilling cycles",
    "controller.tool_length_offsets": "true when it has a tool length table",
    "controller.dwell_unit": "unit of a dwell: s or ms",
    "tolerance": "deflection you accept at the cutter tip",
    "tolerance.roughing_mm": "when roughing",
    "tolerance.finishing_mm": "on finished walls",
    "quiet": "rules accepted for this job",
    "quiet.code": "code of the rule",
    "quiet.reason": "why it is accepted; it goes on the sheet",
}


def written_name(name: str) -> str:
    """Name of a field as the file writes it: without the unit, which the value carries.

    name: Field name of the model.
    Returns: The name without its unit suffix.

    >>> written_name("thickness_mm"), written_name("machine")
    ('thickness', 'machine')
    """
    for suffix in QUANTITY_SUFFIXES:
        if name.endswith(suffix):
            return name.removesuffix(suffix)
    return name


def model_name(model: type[BaseModel], written: str) -> str | None:
    """Field of a model that a written name stands for.

    model: The group the name stands in.
    written: Name in the file, with or without its unit.
    Returns: Field name; None when there is no such field.
    """
    for name in (written, *(written + suffix for suffix in QUANTITY_SUFFIXES)):
        if name in model.model_fields:
            return name
    return None
