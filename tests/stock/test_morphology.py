"""Regions, distances and growth of masks, against SciPy's ``ndimage`` on drawn and on large masks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from numpy.typing import NDArray
from scipy import ndimage

from millcalc.stock.morphology import boxes, distance, grown, label, within

EIGHT = np.ones((3, 3), dtype=bool)
MASKS = array_shapes(min_dims=2, max_dims=2, max_side=24).flatmap(
    lambda shape: arrays(np.bool_, shape, elements=st.booleans())
)


def _large(seed: int) -> NDArray[np.bool_]:
    """Blobs, lines and specks."""
    draw = np.random.default_rng(seed)
    blobs = ndimage.gaussian_filter(draw.standard_normal((180, 240)), 1 + 2 * seed)
    mask = np.asarray(blobs > np.quantile(blobs, 0.2 * (1 + seed)), dtype=bool)
    mask[draw.integers(180)] ^= True
    return mask


def _agree(mask: NDArray[np.bool_]) -> None:
    labels, count = label(mask)
    theirs, their_count = ndimage.label(mask, structure=EIGHT)
    assert count == their_count
    np.testing.assert_array_equal(labels, theirs)
    assert boxes(labels, count) == list(ndimage.find_objects(theirs))
    if not mask.all():
        np.testing.assert_array_equal(distance(mask), ndimage.distance_transform_edt(mask))
    for cells in (1, 2, 3):
        expected = ndimage.binary_dilation(mask, EIGHT, iterations=cells)
        np.testing.assert_array_equal(grown(mask, cells), expected)


@given(MASKS)
@settings(deadline=None)
def test_drawn_masks_give_what_scipy_gives(mask: NDArray[np.bool_]) -> None:
    _agree(mask)


@pytest.mark.parametrize("seed", range(4))
def test_large_masks_give_what_scipy_gives(seed: int) -> None:
    _agree(_large(seed))
    _agree(~_large(seed))
    _agree(_large(seed).T)


@pytest.mark.parametrize("radius", [1.0, 2.0**0.5, 5.0**0.5, 3.7, 16.5])
def test_distances_within_a_radius_are_those_of_scipy(radius: float) -> None:
    draw = np.random.default_rng(int(10 * radius))
    for share in (0.2, 0.9, 0.99):
        mask = draw.random((60, 50)) < share
        theirs = ndimage.distance_transform_edt(mask)
        squared, most = within(mask, radius)
        assert np.array_equal(squared <= most, theirs <= radius)
        assert np.array_equal(np.sqrt(squared[squared <= most]), theirs[theirs <= radius])
