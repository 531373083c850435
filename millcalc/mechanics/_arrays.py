"""Shared checks of arguments and the float-or-array habit of every formula; numpy only."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
Numbers: TypeAlias = float | FloatArray
"""A number or an array of numbers; arguments broadcast against each other as in numpy."""
Result: TypeAlias = Any
"""A float when every argument was a number, else an array; typed like numpy's own element-wise functions."""

_LARGEST = float(np.finfo(np.float64).max)
_SHARE_SLACK = 1e-9  # [-] relative rounding allowed where a value may touch its limit, e.g. ae = D


def _fail(name: str, accepted: str, array: FloatArray, good: NDArray[np.bool_]) -> None:
    bad = array[~good] if array.ndim else array
    raise ValueError(f"{name} must be {accepted}, found {float(np.ravel(bad)[0]):g}")


def _floats(name: str, value: Numbers) -> FloatArray:
    try:
        return np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise ValueError(f"{name} must be a number, found {value!r}") from error


def finite(name: str, value: Numbers) -> FloatArray:
    """Return `value` as an array after refusing NaN and infinity."""
    if isinstance(value, float) and -_LARGEST <= value <= _LARGEST:
        return np.asarray(value)
    array = _floats(name, value)
    good = np.isfinite(array)
    if not good.all():
        _fail(name, "a finite number", array, good)
    return array


def positive(name: str, value: Numbers) -> FloatArray:
    """Return `value` as an array after refusing NaN, infinity, zero and anything negative."""
    # the usual single number, without numpy's ceremony
    if isinstance(value, float) and 0.0 < value <= _LARGEST:
        return np.asarray(value)
    array = _floats(name, value)
    good = np.isfinite(array) & (array > 0)
    if not good.all():
        _fail(name, "greater than 0", array, good)
    return array


def not_negative(name: str, value: Numbers) -> FloatArray:
    """Return `value` as an array after refusing NaN, infinity and anything negative."""
    if isinstance(value, float) and 0.0 <= value <= _LARGEST:
        return np.asarray(value)
    array = _floats(name, value)
    good = np.isfinite(array) & (array >= 0)
    if not good.all():
        _fail(name, "0 or greater", array, good)
    return array


def between(name: str, value: Numbers, low: float, high: float, *, open_low: bool = False) -> FloatArray:
    """Return `value` as an array after refusing anything outside [low, high] (or above low)."""
    array = _floats(name, value)
    good = np.isfinite(array) & ((array > low) if open_low else (array >= low)) & (array <= high)
    if not good.all():
        accepted = f"above {low:g} and at most {high:g}" if open_low else f"from {low:g} to {high:g}"
        _fail(name, accepted, array, good)
    return array


def at_most(name: str, array: FloatArray, limit_name: str, limit: FloatArray) -> FloatArray:
    """Return `array` limited to `limit` after refusing anything above it by more than rounding."""
    good = array <= limit * (1 + _SHARE_SLACK)
    if not np.all(good):
        values, limits = np.broadcast_arrays(array, limit)
        value, top = values[~good].flat[0], limits[~good].flat[0]
        raise ValueError(f"{name} must be at most {limit_name} ({top:g}), found {value:g}")
    return np.minimum(array, limit)


def whole(name: str, value: Numbers, least: int = 1) -> FloatArray:
    """Return `value` as an array after refusing anything but whole numbers of at least `least`."""
    array = _floats(name, value)
    good = np.isfinite(array) & (array >= least) & (array == np.round(array))
    if not good.all():
        _fail(name, f"a whole number of at least {least}", array, good)
    return array


def result(array: FloatArray) -> Result:
    """Return a float for a single number, the array otherwise."""
    return float(array) if np.ndim(array) == 0 else array
