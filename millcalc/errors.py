"""The exceptions a person may meet, and the exit code each one carries.

::

    MillcalcError                 exit code 2
    ├── InputError                a file or value the person gave cannot be used
    │   ├── TableError            a material, cutter, machine or shop table
    │   ├── JobError              a job file
    │   ├── ProgramError          a program that cannot be read at all
    │   └── LogError              the log of cuts
    └── UsageError                a command whose options do not fit together

Findings about a program are not exceptions; see :mod:`millcalc.findings`.
"""

from __future__ import annotations

from collections.abc import Sequence


class MillcalcError(Exception):
    """Anything millcalc reports to the person instead of showing a traceback."""

    exit_code = 2


class UsageError(MillcalcError):
    """Options that contradict each other, or one that is missing."""


class InputError(MillcalcError):
    """Input that cannot be used: names where, what was found, what is accepted and what to do.

    found: What stands there now.
    accepted: What would be accepted instead.
    action: What the person should do; empty when the accepted text says it all.
    file: File the input came from, as the person named it.
    line: Line in that file, 1-based [-].
    field: Dotted field path, or the option's name.
    """

    def __init__(
        self,
        found: str,
        accepted: str = "",
        action: str = "",
        *,
        file: str | None = None,
        line: int | None = None,
        field: str | None = None,
    ) -> None:
        self.found = found
        self.accepted = accepted
        self.action = action
        self.file = file
        self.line = line
        self.field = field
        super().__init__(str(self))

    def __str__(self) -> str:
        where = self.file or ""
        if self.line is not None:
            where = f"{where}:{self.line}" if where else f"line {self.line}"
        parts = [part for part in (where, self.field) if part]
        text = f"found {self.found}"
        if self.accepted:
            text += f"; accepted: {self.accepted}"
        if self.action:
            text += f"; do: {self.action}"
        return ": ".join([*parts, text])


class TableError(InputError):
    """A material, cutter, machine or shop table that cannot be used."""


class JobError(InputError):
    """A job file that cannot be used."""


class ProgramError(InputError):
    """A program file that cannot be read at all (absent, a directory, too large)."""


class LogError(InputError):
    """The log of cuts cannot be opened, read or written."""


class ManyErrors(InputError):
    """Several input errors of one file, reported together.

    errors: The errors, in the order of the file; never empty.
    """

    def __init__(self, errors: Sequence[InputError]) -> None:
        self.errors = tuple(errors)
        first = self.errors[0]
        super().__init__(
            first.found, first.accepted, first.action, file=first.file, line=first.line, field=first.field
        )

    def __str__(self) -> str:
        return "\n".join(str(error) for error in getattr(self, "errors", ()))
