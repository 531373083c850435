"""What a canned cycle keeps for the lines that follow."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

NEEDS_DWELL: Final = (820, 860, 880, 890)
PECKING: Final = (730, 830)


@dataclass
class Sticky:
    """What a cycle keeps for the lines that follow.

    active: Cycle in force, times ten; 0 none.
    values: Sticky numbers as programmed: R, depth, P, Q, I, J, K.
    to_initial: Return to the initial level (G98), else to R (G99).
    initial: Level before the cycle began [mm].
    """

    active: int = 0
    values: dict[str, float] = field(default_factory=dict)
    to_initial: bool = True

    def leave(self) -> None:
        """The cycle ended; R stays, as the report has it sticky."""
        self.active = 0
        kept = self.values.get("R")
        self.values = {} if kept is None else {"R": kept}
