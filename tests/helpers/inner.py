"""A door from Python to the kernels that only kernels call."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def from_python(inner: F) -> F:
    """A compiled function that calls an inner kernel, and that Python may call.

    inner: What ``inner_kernel`` made.
    """
    if os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"):
        return inner
    return cast(F, numba.njit(lambda *given: inner(*given)))
