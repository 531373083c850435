"""Flow of control: O-word branches and loops. Everything is bounded."""

from __future__ import annotations

import math

from millcalc.gcode.expressions import ValueReader
from millcalc.gcode.flow_base import Loop
from millcalc.gcode.flow_calls import Calls, number_of
from millcalc.gcode.line_words import read_block
from millcalc.gcode.words import O_KEYWORDS, Block, FlowWord

CLOSERS = {
    "if": ("elseif", "else", "endif"),
    "while": ("endwhile",),
    "repeat": ("endrepeat",),
    "sub": ("endsub",),
}


_HANDLERS = {keyword: f"_on_{keyword}" for keyword in O_KEYWORDS}


class Flow(Calls):
    """Decides which line comes next: branches and loops here, subprograms in :class:`Calls`."""

    def statement(self, block: Block, line: int) -> int:
        """Carry out an O line.

        block: The block, its `flow` set.
        line: Its line index, 0-based [-].
        Returns: Line index to go on with.
        """
        word = block.flow
        assert word is not None
        refuse = self.machine.profile.refuse
        self.used = self.used or bool(word.keyword)
        if not word.keyword:
            if "program numbers" in refuse:
                self._refused(line, word, "a program number")
            self.machine.output.event("program number", line + 1, number_of(word.label), word.label)
            return line + 1
        if "o words" in refuse:
            self._refused(line, word, f"the control word {word.keyword}")
        following: int = getattr(self, _HANDLERS[word.keyword])(word, line)
        return following

    def _on_if(self, word: FlowWord, line: int) -> int:
        return line + 1 if self._condition(word, line) else self._branch(word, line)

    def _branch(self, word: FlowWord, line: int) -> int:
        """Go to the branch whose condition holds."""
        after = line
        while True:
            found = self.index.next(after, word.label, CLOSERS["if"])
            if found is None:
                self._fail(
                    "FLOW-05", line, f"if O{word.label} has no endif", f"write O{word.label} endif", word
                )
                return line + 1
            after, keyword = found
            if keyword != "elseif":
                return after + 1
            text = self.source.text(after)
            reader = ValueReader(text, self.machine.parameters)
            branch = read_block(text, after + 1, reader, self.machine.profile.text_rules())
            if branch.broken or branch.flow is None:
                for problem in branch.problems:
                    self.machine.log.add(problem, after + 1)
            elif self._condition(branch.flow, after):
                return after + 1

    def _on_elseif(self, word: FlowWord, line: int) -> int:
        return self._past_if(word, line)

    def _on_else(self, word: FlowWord, line: int) -> int:
        return self._past_if(word, line)

    def _past_if(self, word: FlowWord, line: int) -> int:
        found = self.index.next(line, word.label, ("endif",))
        if found is None:
            self._fail("FLOW-05", line, f"if O{word.label} has no endif", f"write O{word.label} endif", word)
            return line + 1
        return found[0] + 1

    def _on_endif(self, word: FlowWord, line: int) -> int:
        opened = self.index.next(-1, word.label, ("if",))
        if opened is None or opened[0] > line:
            self._fail("FLOW-05", line, f"endif O{word.label} closes no if", "check the labels", word)
        return line + 1

    def _on_while(self, word: FlowWord, line: int) -> int:
        loops = self._loops
        if loops and loops[-1].label == word.label and loops[-1].keyword == "do":
            head = loops[-1].head
            if self._condition(word, line):
                return self._back(line, head + 1)
            loops.pop()
            return line + 1
        running = bool(loops) and loops[-1].label == word.label and loops[-1].head == line
        if self._condition(word, line):
            if not running:
                loops.append(Loop(word.label, "while", line))
            return line + 1
        if running:
            loops.pop()
        return self._past_loop(word, line, "endwhile")

    def _past_loop(self, word: FlowWord, line: int, keyword: str) -> int:
        found = self.index.next(line, word.label, (keyword,))
        if found is None:
            self._fail(
                "FLOW-05",
                line,
                f"{word.keyword} O{word.label} has no {keyword}",
                f"write O{word.label} {keyword}",
                word,
            )
            return line + 1
        return found[0] + 1

    def _on_endwhile(self, word: FlowWord, line: int) -> int:
        return self._end_loop(word, line, "while")

    def _on_do(self, word: FlowWord, line: int) -> int:
        self._loops.append(Loop(word.label, "do", line))
        return line + 1

    def _on_repeat(self, word: FlowWord, line: int) -> int:
        if self._condition(word, line) is None:
            return line + 1
        value = word.values[0]
        count = 0 if math.isnan(value) else int(min(max(value + 1e-6, 0.0), 1e9))
        if count <= 0:
            return self._past_loop(word, line, "endrepeat")
        self._loops.append(Loop(word.label, "repeat", line, count))
        return line + 1

    def _on_endrepeat(self, word: FlowWord, line: int) -> int:
        return self._end_loop(word, line, "repeat")

    def _end_loop(self, word: FlowWord, line: int, keyword: str) -> int:
        loops = self._loops
        if not loops or loops[-1].label != word.label or loops[-1].keyword != keyword:
            self._fail(
                "FLOW-05", line, f"{word.keyword} O{word.label} closes no {keyword}", "check the labels", word
            )
            return line + 1
        loop = loops[-1]
        if keyword == "while":
            return self._back(line, loop.head)
        loop.left -= 1
        if loop.left > 0:
            return self._back(line, loop.head + 1)
        loops.pop()
        return line + 1

    def _on_break(self, word: FlowWord, line: int) -> int:
        loops = self._loops
        if not any(loop.label == word.label for loop in loops):
            self._fail(
                "FLOW-05", line, f"break O{word.label} stands outside that loop", "check the labels", word
            )
            return line + 1
        while loops[-1].label != word.label:
            loops.pop()
        loop = loops.pop()
        if loop.keyword == "do":
            return self._past_loop(word, line, "while")
        return self._past_loop(word, line, "endwhile" if loop.keyword == "while" else "endrepeat")

    def _on_continue(self, word: FlowWord, line: int) -> int:
        loops = self._loops
        if not any(loop.label == word.label for loop in loops):
            self._fail(
                "FLOW-05", line, f"continue O{word.label} stands outside that loop", "check the labels", word
            )
            return line + 1
        while loops[-1].label != word.label:
            loops.pop()
        loop = loops[-1]
        if loop.keyword == "while":
            return self._back(line, loop.head)
        if loop.keyword == "do":
            found = self.index.next(line, word.label, ("while",))
            return found[0] if found is not None else line + 1
        found = self.index.next(line, word.label, ("endrepeat",))
        return found[0] if found is not None else line + 1
