"""The words of the trade in plain language, for ``millcalc explain WORD``."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Word:
    """A word: other spellings, what it means, and why it matters."""

    name: str
    also: tuple[str, ...]
    meaning: str
    matters: str = ""


WORDS: tuple[Word, ...] = (
    Word(
        "chip load",
        ("fz", "feed per tooth", "chip-load", "chipload"),
        "How far the work moves while one cutting edge takes its turn, in mm a tooth: feed / (speed x flutes).",
        "Too small and the edge rubs, heats and welds; too large and it bends or snaps the cutter. Slowing the "
        "feed makes the chip smaller: the careful-looking mistake.",
    ),
    Word(
        "ae",
        ("width of cut", "radial width", "stepover", "width"),
        "Radial width of cut: how much of the cutter's side is in the material, measured across the path, in mm. "
        "A slot has ae equal to the diameter.",
        "Below half the diameter the chip gets thinner than the chip load (see chip thinning).",
    ),
    Word(
        "ap",
        ("depth of cut", "axial depth", "depth per pass", "depth"),
        "Axial depth of cut: how deep one pass is, along the spindle, in mm.",
        "Force, bending and power grow in proportion to it; on a light machine it is the number to lower first.",
    ),
    Word(
        "n",
        (
            "rpm",
            "spindle speed",
            "speed",
            "spindle-top-speed",
            "top speed",
            "spindle-low-speed",
            "lowest speed",
        ),
        "Spindle speed in revolutions a minute.",
    ),
    Word(
        "vc",
        ("cutting speed", "surface speed", "cutting-speed"),
        "Speed of the cutting edge through the material, in m/min: pi x diameter x speed / 1000.",
        "Each material and cutter material has a band; above it the edge wears or the plastic melts.",
    ),
    Word(
        "vf", ("feed", "feed rate", "table feed"), "Speed of the cutter's centre along its path, in mm/min."
    ),
    Word(
        "chip thickness",
        ("h", "hm", "hmax", "mean chip", "maximum chip"),
        "How thick the chip really is: it changes along the arc, from zero to hmax. hm is its mean.",
        "Rubbing is judged by hmax, power by hm.",
    ),
    Word(
        "chip thinning",
        ("thinning",),
        "With ae below half the diameter the edge never reaches full chip: hmax = 2 fz sqrt((ae/D)(1 - ae/D)).",
        "A narrow cut needs a faster feed to keep the chip above the rubbing limit.",
    ),
    Word(
        "engagement",
        ("engagement angle",),
        "The part of the cutter's turn that is in the material, in degrees: 180 in a slot, 90 at half width.",
        "It jumps in inside corners: a gentle side cut becomes nearly a slot for a moment.",
    ),
    Word(
        "drop",
        (),
        "From the lowest bearing of the Z carriage down to the tip of the cutter, in mm.",
        "The longer the drop, the softer the machine: bending grows with its square or cube. Raising the work on a "
        "spacer shortens it.",
    ),
    Word(
        "stickout",
        ("stick-out", "reach"),
        "From the face of the collet nut to the tip of the cutter, in mm.",
        "Bending of the cutter grows with its cube: as short as the job allows. Keep the flutes out of the collet.",
    ),
    Word(
        "run-out",
        ("runout", "tir"),
        "How far the cutter wobbles in a turn, full swing of a dial indicator, in mm.",
        "With two flutes or more one edge takes a thicker chip, the other a thinner one.",
    ),
    Word(
        "stiffness",
        ("compliance", "n/um", "rigidity"),
        "How many newtons push the tip aside by a micrometre. Compliance is its inverse. Cutter, collet with "
        "spindle, and frame bend one after the other: their compliances add up.",
        "It decides how deep this machine can cut; a brochure never tells it.",
    ),
    Word(
        "deflection",
        (),
        "How far the cutter's tip is pushed aside by the cutting force, in mm: force x compliance.",
        "It makes walls lean and slots the wrong width, and where it changes it leaves marks.",
    ),
    Word(
        "chatter",
        ("chatter depth",),
        "A vibration that feeds itself: each tooth cuts the waves the last one left. Loud tone, slanted marks.",
        "Below a certain depth it cannot start at any speed; that depth grows with stiffness and damping.",
    ),
    Word(
        "rubbing",
        ("smallest chip", "minimum chip"),
        "When the chip would be thinner than a share of the edge's roundness the edge slides instead of cutting.",
        "It heats, squeals, dulls the edge and welds aluminium to it.",
    ),
    Word(
        "budget",
        ("share", "reserve", "first cut", "first-cut", "proven", "used", "may"),
        "The share of a limit that a setting uses, and the share it may use. What a first cut may use of a force "
        "limit follows from how well machine and material are known; a proven cut may use all of it.",
        "The limit that holds the depth back governs: it is the one to work on.",
    ),
    Word(
        "kc1.1",
        ("kc", "kc11", "mc", "kienzle", "specific cutting force"),
        "Force needed to cut a chip 1 mm wide and 1 mm thick, N/mm2; the exponent mc says how it rises for thinner "
        "chips: kc = kc1.1 / h^mc (Kienzle).",
        "Used for power and torque; below 0.05 mm chip it is on the high side.",
    ),
    Word(
        "milling coefficients",
        ("ktc", "kte", "krc", "kre", "kac", "kae", "edge force"),
        "Force on an edge per mm of depth = Ktc x chip + Kte (tangential), likewise radial and axial. The second "
        "term is there even for a thin chip.",
        "That is why slowing the feed hardly lowers the force, while halving the depth halves it.",
    ),
    Word(
        "climb",
        ("down milling", "climb milling"),
        "The edge enters at full chip and leaves at nothing; clockwise spindle: material right of the path.",
        "Better finish; pulls a machine with play into the cut.",
    ),
    Word(
        "conventional",
        ("up milling", "conventional milling"),
        "The edge enters at zero chip and leaves at full chip; the material is left of the path.",
        "Rubs at entry, but does not pull; often calmer on a machine with play.",
    ),
    Word(
        "slot",
        (),
        "A cut as wide as the cutter: 180 degrees in the material, chips have only the top to leave by.",
    ),
    Word(
        "ramp", ("ramp angle",), "Going down while moving along, at a small angle, instead of straight down."
    ),
    Word(
        "helix",
        ("helical entry", "bore"),
        "Going down in a spiral inside a hole 1.2 to 1.8 times the cutter's size.",
    ),
    Word(
        "plunge",
        ("straight plunge",),
        "Going straight down. The middle of an end mill hardly cuts; some cannot plunge at all.",
    ),
    Word(
        "flute",
        ("flutes", "tooth", "teeth"),
        "A cutting edge with its groove. Fewer flutes leave more room for chips.",
    ),
    Word("flute length", ("flute-length",), "Length of the cutting edges. Deeper than that the shank rubs."),
    Word(
        "chip room",
        ("chip-room", "room for chips"),
        "How deep a slot can be before chips pack instead of leaving.",
    ),
    Word(
        "what failed here",
        ("failed-here",),
        "A cut of this kind with the same machine, material and cutter that your log calls failed. The next one is "
        "advised a quarter shallower, until as much has gone well again.",
    ),
    Word(
        "axis push",
        ("axis-thrust", "thrust"),
        "The force at which an axis motor stalls and loses steps. Half of it is taken as the limit.",
    ),
    Word(
        "cutter strength",
        ("cutter-strength",),
        "Bending stress at the cutter's root against what carbide or HSS bears.",
    ),
    Word(
        "spindle power",
        ("spindle-power",),
        "Cutting power against what the spindle gives at that speed, not its label.",
    ),
    Word(
        "spindle torque",
        ("spindle-torque",),
        "Turning moment of the cut against what the spindle gives at that speed.",
    ),
    Word("top feed", ("top-feed",), "The fastest feed the slower axis can run."),
    Word(
        "acceleration",
        ("segment",),
        "Between two corners a distance d apart an axis only reaches sqrt(a x d). The feed in the program is then "
        "never reached, and the chip is thinner than planned.",
    ),
    Word(
        "spoilboard",
        ("bed", "sacrificial board"),
        "The board under the work that may be cut into; what is below it may not.",
    ),
    Word(
        "holds",
        ("governs", "held back"),
        "In the table of limits: which limit holds back the speed, the feed and the depth. The one that holds the "
        "depth governs.",
    ),
    Word(
        "sure",
        ("chance", "probability"),
        "The chance that a limit holds, from the spread of everything that is not known exactly.",
    ),
    Word(
        "greatest chip",
        ("chip thickness limit",),
        "The thickest the chip gets on its arc (hmax); in a narrow cut less than the chip load, see chip thinning.",
    ),
    Word("tab", ("tabs",), "A small bridge left so that the part stays held until the end."),
    Word(
        "rapid", ("g0", "traverse"), "A move at full speed that must never touch material, screws or clamps."
    ),
    Word(
        "work offset",
        ("g54", "program zero", "zero"),
        "Where program zero lies on the machine. You set it when you touch off; the program only names it.",
    ),
    Word(
        "built-up edge",
        ("welding", "welded chips"),
        "Aluminium smeared onto the edge. Caused by thin chips, heat, no lubricant, soft alloy, packed chips.",
        "Stop at once, clean the edge; air and a drop of fluid, a thicker chip, one flute.",
    ),
    Word(
        "scallop",
        ("cusp",),
        "The ridge a ball-nosed cutter leaves between passes: about stepover squared / (4 D).",
    ),
    Word(
        "hold-down",
        ("clamp", "clamps", "screw", "screws", "hold", "tape", "vacuum", "vice", "workholding", "onion skin"),
        "What keeps the work from sliding, lifting and turning: screws, clamps, tape, vacuum, a vice. The job lists "
        "screws and clamps by their place, the rest under hold: `- {kind: tape, area: 60 cm2}`.",
        "A cutter pushes sideways, an up-cut lifts too, and a push beside the middle turns the work. Tape must stick "
        "under every piece that is cut free; vacuum presses down with 10 N a cm2 at most and holds only a fifth of "
        "that sideways; a vice holds by friction. Not sure? Write `hold: unknown`: the report asks how it is held, "
        "once, and stops nothing.",
    ),
)


def find_word(text: str) -> Word | None:
    """The word with that name or spelling.

    text: What the person typed.
    Returns: None when it is not known.
    """
    wanted = text.strip().lower().replace("_", " ")
    for word in WORDS:
        spellings = {word.name, *word.also}
        if wanted in spellings or wanted.replace("-", " ") in {s.replace("-", " ") for s in spellings}:
            return word
    return None


def known_spellings() -> list[str]:
    """Every name and spelling, for suggesting the closest."""
    return [spelling for word in WORDS for spelling in (word.name, *word.also)]
