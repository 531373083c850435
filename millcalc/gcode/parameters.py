"""Numbered and named parameters as a program sees them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field


@dataclass
class Parameters:
    """Numbered and named parameters as a program sees them.

    numbered: Values that were set.
    named: Names beginning with an underscore, seen everywhere.
    local: Other names, of the subprogram that is running.
    system: Gives the value of a parameter kept by the machine, or None when it keeps no such parameter.
    """

    numbered: dict[int, float] = field(default_factory=dict)
    named: dict[str, float] = field(default_factory=dict)
    local: dict[str, float] = field(default_factory=dict)
    system: Callable[[int], float | None] | None = None

    def number(self, index: int) -> float | None:
        """Value of a numbered parameter, or None when it was never set."""
        if self.system is not None and index >= 5061:
            value = self.system(index)
            if value is not None:
                return value
        return self.numbered.get(index)

    def name(self, name: str) -> float | None:
        """Value of a named parameter, or None when it was never set."""
        return self.named.get(name) if name.startswith("_") else self.local.get(name)

    def set_name(self, name: str, value: float) -> None:
        """Set a named parameter."""
        (self.named if name.startswith("_") else self.local)[name] = value
