"""Small drawings of cutters from the side: the kind by its tip, the flutes by their lines, the size by the width."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.tables.models import Cutter

WIDTH, HEIGHT = 30.0, 60.0  # drawing units
_SHANK_END, _TIP = 24.0, 57.0
_PER_MM, _LEAST, _MOST = 1.9, 3.0, 28.0  # drawing units a millimetre of diameter, and the ends of a width


@dataclass(frozen=True)
class CutterPicture:
    """SVG path data on a field of 30 by 60: shank, cutting part, and the lines of its flutes."""

    shank: str
    body: str
    flutes: str


def cutter_picture(cutter: Cutter) -> CutterPicture:
    """Draw a cutter.

    cutter: The cutter.
    Returns: Its drawing, tip down.
    """
    half, shank = _half(cutter.diameter_mm), _half(cutter.shank_mm)
    middle = WIDTH / 2
    top = f"M{middle - shank:g} 2H{middle + shank:g}V{_SHANK_END:g}H{middle - shank:g}Z"
    return CutterPicture(top, _body(cutter, middle, half), _flutes(cutter, middle, half))


def _half(diameter_mm: float) -> float:
    return min(max(_PER_MM * diameter_mm, _LEAST), _MOST) / 2


def _body(cutter: Cutter, x: float, half: float) -> str:
    """The outline of the cutting part, clockwise from its upper left."""
    left, right, top = f"{x - half:g}", f"{x + half:g}", f"{_SHANK_END:g}"
    kind = cutter.kind
    if kind in ("ball", "bull-nose"):
        r = half if kind == "ball" else half / 3
        low = _TIP - r
        return (
            f"M{left} {top}H{right}V{low:g}A{r:g} {r:g} 0 0 1 {x + half - r:g} {_TIP:g}H{x - half + r:g}"
            f"A{r:g} {r:g} 0 0 1 {left} {low:g}Z"
        )
    if kind in ("vee", "engraving", "spot drill", "twist drill"):
        depth = {"vee": 1.7, "engraving": 3.4, "spot drill": 1.4, "twist drill": 0.6}[kind] * half
        start = max(_SHANK_END, _TIP - max(depth, 3.0))
        return f"M{left} {top}H{right}V{start:g}L{x:g} {_TIP:g}L{left} {start:g}Z"
    if kind == "tapered ball":
        return f"M{left} {top}H{right}L{x + 2:g} {_TIP - 2:g}A2 2 0 0 1 {x - 2:g} {_TIP - 2:g}Z"
    if kind == "facing":
        return f"M{left} {_TIP - 14:g}H{right}V{_TIP:g}H{left}Z M{x - 4:g} {top}h8V{_TIP - 14:g}h-8Z"
    return f"M{left} {top}H{right}V{_TIP:g}H{left}Z"


def _flutes(cutter: Cutter, x: float, half: float) -> str:
    """Slanted lines, one a flute; their slant tells which way the chips go."""
    if cutter.kind in ("facing", "engraving"):
        return ""
    low, high = _TIP - 6.0, _SHANK_END + 3.0
    step = (low - high) / (cutter.flutes + 1)
    slant = {"up": 0.5, "down": -0.5, "straight": 0.0, "compression": 0.5}[cutter.spiral] * step
    if not slant:
        gap = 2 * half / (cutter.flutes + 1)
        return "".join(f"M{x - half + gap * (i + 1):g} {high:g}V{low:g}" for i in range(cutter.flutes))
    lines = []
    for i in range(cutter.flutes):
        y = high + step * (i + 1)
        turned = slant if cutter.spiral != "compression" or i % 2 else -slant
        lines.append(f"M{x - half:g} {y + turned:g}L{x + half:g} {y - turned:g}")
    return "".join(lines)
