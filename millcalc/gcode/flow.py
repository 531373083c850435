"""Flow of control: O-word subprograms, branches and loops; M98 and M99 subprograms. Everything is bounded."""

from __future__ import annotations

import math

from millcalc.gcode.expressions import ValueReader
from millcalc.gcode.flow_base import Call, FlowBase, Loop
from millcalc.gcode.line_words import read_block
from millcalc.gcode.request import Request
from millcalc.gcode.state import DEPTH
from millcalc.gcode.tuning import MAX_CALL_DEPTH
from millcalc.gcode.words import Block, FlowWord

CLOSERS = {
    "if": ("elseif", "else", "endif"),
    "while": ("endwhile",),
    "repeat": ("endrepeat",),
    "sub": ("endsub",),
}


class Flow(FlowBase):
    """Decides which line comes next."""

    # ---- O statements
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
            self.machine.output.event("program number", line + 1, _number(word.label), word.label)
            return line + 1
        if "o words" in refuse:
            self._refused(line, word, f"the control word {word.keyword}")
        handler = getattr(self, f"_on_{word.keyword}")
        following: int = handler(word, line)
        return following

    def _on_sub(self, word: FlowWord, line: int) -> int:
        end = self.index.next(line, word.label, ("endsub",))
        self.defined[word.label] = line
        if end is None:
            self._fail(
                "FLOW-05",
                line,
                f"subprogram O{word.label} has no endsub",
                f"write O{word.label} endsub",
                word,
            )
            self.stopped = True
            return self.source.lines
        return end[0] + 1

    def _on_endsub(self, word: FlowWord, line: int) -> int:
        return self._return(word, line, "endsub")

    def _on_return(self, word: FlowWord, line: int) -> int:
        return self._return(word, line, "return")

    def _return(self, word: FlowWord, line: int, what: str) -> int:
        if not self._calls or self._calls[-1].label != word.label:
            self._fail(
                "FLOW-05",
                line,
                f"{what} of O{word.label} stands where that subprogram is not running",
                "check the labels",
                word,
            )
            return line + 1
        call = self._calls[-1]
        parameters = self.machine.parameters
        if word.values:
            parameters.named["_value"] = word.values[0]
            parameters.named["_value_returned"] = 1.0
        return self._leave(call)

    def _leave(self, call: Call) -> int:
        parameters = self.machine.parameters
        self._calls.pop()
        del self._loops[call.loops :]
        if call.saved is not None:
            for index in range(1, 31):
                parameters.numbered.pop(index, None)
            parameters.numbered.update(call.saved)
            parameters.local = call.local
        self.machine.state[DEPTH] = len(self._calls)
        return call.return_to

    def _on_call(self, word: FlowWord, line: int) -> int:
        found = self.index.next(-1, word.label, ("sub",))
        self.machine.output.event("call", line + 1, _number(word.label), word.label)
        self.called.add(word.label)
        if found is None:
            self._fail(
                "FLOW-01",
                line,
                f"subprogram O{word.label} is called but is not in the file",
                "add the subprogram to the file; nothing of it was checked",
                word,
            )
            return line + 1
        if not self._enter(word.label, line, line + 1, found[0] + 1, 1):
            return self.source.lines
        call, parameters = self._calls[-1], self.machine.parameters
        call.saved = {
            index: parameters.numbered[index] for index in range(1, 31) if index in parameters.numbered
        }
        call.local, parameters.local = parameters.local, {}
        for index in range(1, 31):
            parameters.numbered[index] = word.values[index - 1] if index <= len(word.values) else 0.0
        return found[0] + 1

    def _enter(self, label: str, line: int, return_to: int, first: int, times: int) -> bool:
        if len(self._calls) >= MAX_CALL_DEPTH:
            self._fail(
                "FLOW-03",
                line,
                f"subprograms are nested more than {MAX_CALL_DEPTH} deep: "
                f"O{label} seems to call itself without end",
                "end the chain of calls",
            )
            self.stopped = True
            return False
        self._calls.append(Call(label, return_to, first, times - 1, loops=len(self._loops)))
        self.jumps += 1
        if self.jumps > self.machine.options.max_jumps:
            self._back(line, -1)
            return False
        self.machine.state[DEPTH] = len(self._calls)
        return True

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

    # ---- M98 and M99
    def after(self, block: Block, request: Request, line: int) -> int:
        """Next line after a carried-out block, following M98 and M99.

        block: The block.
        request: Its codes.
        line: Its line index, 0-based [-].
        Returns: Line index to go on with.
        """
        code = request.m.get(10)
        if code is None or block.broken:
            return line + 1
        if code == 98:
            return self._m98(block, line)
        return self._m99(block, line)

    def _m98(self, block: Block, line: int) -> int:
        if "P" not in block.words:
            self._fail(
                "FLOW-05",
                line,
                "M98 has no P word with the number of the subprogram",
                "write P and its number",
            )
            return line + 1
        number = round(block.words["P"][0])
        times = round(block.words["L"][0]) if "L" in block.words else 1
        target = self._program(str(number))
        if target is None and number >= 10000:
            shortened = self._program(str(number % 10000))
            if shortened is not None:
                target, times, number = shortened, number // 10000, number % 10000
        self.machine.output.event("call", line + 1, float(number), str(number))
        self.called.add(str(number))
        if target is None:
            self._fail(
                "FLOW-01",
                line,
                f"subprogram {number} is called by M98 but is not in the file",
                f"add the subprogram O{number} to the file; nothing of it was checked",
            )
            return line + 1
        if times <= 0:
            return line + 1
        if not self._enter(str(number), line, line + 1, target + 1, times):
            return self.source.lines
        return target + 1

    def _program(self, label: str) -> int | None:
        found = self.index.next(-1, label, ("",))
        return None if found is None else found[0]

    def _m99(self, block: Block, line: int) -> int:
        if not self._calls:
            self._fail(
                "FLOW-06",
                line,
                "M99 stands in the main program: a control starts it again from the top, without end",
                "end the main program with M30",
            )
            self.machine.ended = True
            return line + 1
        call = self._calls[-1]
        if call.saved is not None:
            self._fail(
                "FLOW-05",
                line,
                f"M99 ends O{call.label}, which was called by an O word",
                "write endsub instead",
            )
        if "P" in block.words:
            self._fail(
                "FLOW-10",
                line,
                f"M99 P{block.words['P'][0]:g} returns to another line, which is not followed",
                "return to the line after the call",
            )
        if call.again > 0:
            call.again -= 1
            return self._back(line, call.first)
        return self._leave(call)


def _number(label: str) -> float:
    return float(label) if label.isdigit() else float("nan")
