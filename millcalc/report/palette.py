"""Colours of the pictures: eight that people with any colour vision tell apart, and a ramp of lightness.

No colour stands alone: kinds of path differ in dash and width, severities in the shape of their mark, depths in
lightness, and everything is named in words.

Source: Okabe M., Ito K.: Color Universal Design (CUD), how to make figures and presentations that are
  friendly to colorblind people, 2002, revised 2008: the eight colours below, by their sRGB values (from
  memory).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

ORANGE: Final = "#E69F00"
SKY: Final = "#56B4E9"
GREEN: Final = "#009E73"
YELLOW: Final = "#F0E442"
BLUE: Final = "#0072B2"
VERMILION: Final = "#D55E00"
PURPLE: Final = "#CC79A7"

# ends of the ramp from the uncut top to just above the floor: warm light grey to dark slate, lightness falls evenly
RAMP_TOP: Final = (233, 230, 222)
RAMP_FLOOR: Final = (62, 74, 92)


def height_colours() -> NDArray[np.uint8]:
    """Colour of each of the 256 height levels; level 0 is cut through and transparent.

    Returns: Red, green, blue, opacity.
    """
    share = np.linspace(0.0, 1.0, 256)[:, None]
    rgb = np.asarray(RAMP_FLOOR) + (np.asarray(RAMP_TOP) - np.asarray(RAMP_FLOOR)) * share
    table = np.full((256, 4), 255, np.uint8)
    table[:, :3] = np.rint(rgb)
    table[0, 3] = 0
    return table


def shaded(levels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Heights as a picture: the ramp, and walls darkened or lightened as by light from the back left.

    levels: Heights, row 0 at the smallest y [-].
    Returns: Red, green, blue, opacity; row 0 is the largest y, as pictures are.
    """
    image = height_colours()[levels].astype(np.float32)
    height = levels.astype(np.float32)
    slope = np.zeros_like(height)
    slope[:, 1:-1] += height[:, 2:] - height[:, :-2]
    slope[1:-1, :] -= height[2:, :] - height[:-2, :]
    light = 1.0 + np.clip(slope / 255.0, -1.0, 1.0) * 0.35
    image[..., :3] = np.clip(image[..., :3] * light[..., None], 0, 255)
    return np.flipud(image).astype(np.uint8)
