"""When a finding happens: the share of its motion at first contact or at release."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.preflight.context import Context

if TYPE_CHECKING:
    from millcalc.stock.left import LoosePiece
    from millcalc.stock.shapes import CutterShape


def _shapes(ctx: Context) -> dict[int, CutterShape]:
    from millcalc.stock.cutter_shapes import shape_from_cutter

    setup = ctx.setup
    return {n: shape_from_cutter(fitted.cutter) for n, fitted in setup.cutters.items()} if setup else {}


def first_contact(ctx: Context, row: int) -> float | None:
    """Share of a motion at which its cutter first meets what still stands.

    ctx: Program, set-up and simulated cut.
    row: Row of the motion table [-].
    Returns: 0 to 1 [-]; None where that is not known.
    """
    from millcalc.stock.contact import first_contact_share

    stock = ctx.setup.stock if ctx.setup else None
    if stock is None or ctx.removal is None:
        return None
    key = f"first contact {row}"
    if key not in ctx.kept:
        ctx.kept[key] = first_contact_share(
            ctx.program.motions, stock, _shapes(ctx), row, ctx.facts.assumed_tool
        )
    share: float | None = ctx.kept[key]
    return share


def release(ctx: Context, piece: LoosePiece) -> float:
    """Share of the motion that frees a piece at which it comes free.

    ctx: Program, set-up and simulated cut.
    piece: The piece.
    Returns: 0 to 1 [-].
    """
    from millcalc.stock.contact import release_share

    stock = ctx.setup.stock if ctx.setup else None
    if stock is None:
        return 1.0
    key = f"release {piece.motion} {piece.place_mm}"
    if key not in ctx.kept:
        ctx.kept[key] = release_share(
            ctx.program.motions, stock, _shapes(ctx), piece.motion, piece.place_mm, ctx.facts.assumed_tool
        )
    share: float = ctx.kept[key]
    return share
