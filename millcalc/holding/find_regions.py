"""Finds the pieces that are left when the program has ended."""

from __future__ import annotations

import numpy as np

from millcalc.holding import tuning
from millcalc.holding.regions import Regions, edge_values
from millcalc.stock.left import Heightfield
from millcalc.stock.tuning import REMOVAL_SKIN_MM, REMOVAL_SLIVER_CELLS, REMOVAL_SLIVER_PER_DIAMETER


def find_regions(field: Heightfield, diameter_mm: float) -> Regions:
    """Find the pieces of a finished stock.

    field: The finished stock.
    diameter_mm: Diameter of the largest cutter; pieces under a quarter of it across are slivers [mm].
    Returns: Pieces, the largest first.

    Note: Material is joined where cells share an edge, as in the search for loose pieces. The rim is what
      is joined to the stock's edge by more than half its thickness: a part on tabs, or on a skin, is not
      the rim.
    """
    from scipy import ndimage

    material = field.height_mm > field.floor_mm + REMOVAL_SKIN_MM
    labels, count = ndimage.label(material)
    sizes = np.bincount(labels.ravel(), minlength=count + 1)[1:]
    least = max(
        REMOVAL_SLIVER_CELLS,
        (REMOVAL_SLIVER_PER_DIAMETER * diameter_mm / field.cell_mm) ** 2,
    )
    order = np.argsort(-sizes, kind="stable")
    real = order[sizes[order] >= least]
    index = np.full(count + 1, -1, np.int32)
    index[real + 1] = np.arange(len(real), dtype=np.int32)
    slices = ndimage.find_objects(labels)
    boxes = np.array(
        [(s[0].start, s[0].stop, s[1].start, s[1].stop) for s in (slices[k] for k in real)], np.int64
    ).reshape(-1, 4)
    piece = index[labels]
    thick = field.height_mm > field.floor_mm + tuning.SCREWS_THIN_SHARE * (field.top_mm - field.floor_mm)
    parts, parts_count = ndimage.label(thick)
    outer = edge_values(parts)
    is_rim = np.zeros(parts_count + 1, bool)
    is_rim[outer[outer > 0]] = True
    at_edge = np.zeros(len(real), bool)
    edge_pieces = edge_values(piece)
    at_edge[edge_pieces[edge_pieces >= 0]] = True
    return Regions(field, piece, is_rim[parts], sizes[real], boxes, at_edge, int(count - len(real)))
