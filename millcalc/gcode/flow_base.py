"""What the flow of control rests on: calls and loops that run, jumps back with their bounds, conditions."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from millcalc.gcode.flow_index import FlowIndex
from millcalc.gcode.machine import Machine
from millcalc.gcode.problems import Problem
from millcalc.gcode.source import Source
from millcalc.gcode.state import COMMENTS, EVENTS, PC, POS, ROWS, SPEED_EVENTS
from millcalc.gcode.words import FlowWord


@dataclass(slots=True)
class Call:
    """A subprogram that is running."""

    label: str
    return_to: int
    first: int
    again: int
    saved: dict[int, float] | None = None
    local: dict[str, float] = field(default_factory=dict)
    loops: int = 0


@dataclass(slots=True)
class Loop:
    """A loop that is running: the line of its head, and how many turns a repeat has left."""

    label: str
    keyword: str
    head: int
    left: int = 0


class FlowBase:
    """Keeps what runs, and stops what does not end.

    source: The program text.
    machine: Carries out the blocks.
    jumps: Jumps back made so far [-].
    stopped: A limit was reached; reading ends.
    called: Labels of subprograms that were called.
    """

    def __init__(self, source: Source, machine: Machine) -> None:
        self.source = source
        self.machine = machine
        self.jumps = 0
        self.stopped = False
        self.called: set[str] = set()
        self.defined: dict[str, int] = {}
        self._calls: list[Call] = []
        self._loops: list[Loop] = []
        self.used = False
        self.index = FlowIndex(source)
        self._mark: tuple[object, ...] | None = None
        self._next_mark = 1

    def _fail(self, code: str, line: int, fact: str, action: str, word: FlowWord | None = None) -> None:
        start, end = (word.start, word.end) if word is not None else (-1, -1)
        found = self.source.text(line)[max(start, 0) : end if end > 0 else 40]
        self.machine.log.add(Problem(code, start, end, fact, action, found), line + 1)

    def _back(self, line: int, to: int) -> int:
        """Jump back, unless the jump can be seen to repeat itself for ever or a limit is reached."""
        self.jumps += 1
        if self._repeats(to):
            fact = "the loop comes back to exactly the same state: it never ends"
        elif self.jumps > self.machine.options.max_jumps:
            fact = f"loops were followed {self.jumps} times without coming to an end"
        else:
            return to
        self._endless(line, fact)
        return self.source.lines

    def give_up(self, line: int, blocks: int) -> None:
        """Stop because too many blocks were read; blames the loop or call that is running."""
        if self._loops:
            line = self._loops[-1].head
        self._endless(line, f"reading stopped after {blocks} blocks: the program seems to have no end")

    def _endless(self, line: int, fact: str) -> None:
        self.index.statements()
        start, end = self.index.columns.get(line, (-1, -1))
        self.machine.log.add(
            Problem(
                "FLOW-02",
                start,
                end,
                fact,
                "give the loop a condition that ends it",
                self.source.text(line).strip()[:40],
                "a loop that ends",
            ),
            line + 1,
        )
        self.stopped = True

    def _repeats(self, to: int) -> bool:
        """Compare with a state kept at an earlier jump; keep a new one after 1, 2, 4, 8 ... jumps (Brent)."""
        machine = self.machine
        quick = (to, machine.state[POS : POS + 3].tobytes())
        if (self._mark is None or self._mark[0] != quick) and self.jumps < self._next_mark:
            return False
        modal = machine.state.copy()
        modal[[ROWS, EVENTS, COMMENTS, SPEED_EVENTS, PC]] = 0.0
        parameters = machine.parameters
        now = (
            quick,
            modal.tobytes(),
            [(loop.label, loop.head, loop.left) for loop in self._loops],
            [(call.return_to, call.again, repr(call.saved), repr(call.local)) for call in self._calls],
            repr(parameters.numbered),
            repr(parameters.named),
            repr(parameters.local),
        )
        if now == self._mark:
            return True
        if self.jumps >= self._next_mark:
            self._mark = now
            self._next_mark = 2 * self.jumps
        return False

    def judge(self) -> None:
        """Report control statements without an end, and subprograms that were never called."""
        self._unclosed()
        for label, line in self.defined.items():
            if label not in self.called:
                self.machine.log.note(
                    "FLOW-08",
                    f"subprogram O{label} is never called: its lines were not checked",
                    "call it or remove it",
                    line + 1,
                )

    def _unclosed(self) -> None:
        if not self.used:
            return
        doing: set[str] = set()
        for line, label, keyword in self.index.statements():
            if keyword == "while" and label in doing:
                doing.discard(label)
                continue
            if keyword == "do":
                doing.add(label)
            ends = {
                "sub": "endsub",
                "if": "endif",
                "while": "endwhile",
                "repeat": "endrepeat",
                "do": "while",
            }.get(keyword)
            if ends is not None and self.index.next(line, label, (ends,)) is None:
                start, end = self.index.columns[line]
                self.machine.log.add(
                    Problem(
                        "FLOW-05",
                        start,
                        end,
                        f"{keyword} O{label} has no {ends}",
                        f"write O{label} {ends}",
                        self.source.text(line).strip()[:40],
                        ends,
                    ),
                    line + 1,
                )

    def _refused(self, line: int, word: FlowWord, what: str) -> None:
        self.machine.log.add(
            Problem(
                "WORD-07",
                word.start,
                word.end,
                f"{what} is not accepted by {self.machine.profile.title}",
                "have the program written for this controller, or name the right profile in the job",
                self.source.text(line)[word.start : word.end],
                "a code of this controller class",
                blocks=False,
            ),
            line + 1,
        )

    def _condition(self, word: FlowWord, line: int) -> bool | None:
        if not word.values:
            self._fail(
                "FLOW-05",
                line,
                f"{word.keyword} has no condition in brackets",
                f"write {word.keyword} [...]",
                word,
            )
            return None
        if math.isnan(word.values[0]):
            self._fail(
                "FLOW-07",
                line,
                f"the condition of {word.keyword} depends on a value that only the machine knows; "
                "it is taken as not fulfilled",
                "check both branches at the machine",
                word,
            )
            return False
        return word.values[0] != 0.0
