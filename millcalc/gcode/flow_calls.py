"""Subprograms: O words, M98 and M99. Everything is bounded."""

from __future__ import annotations

from millcalc.gcode.flow_base import Call, FlowBase
from millcalc.gcode.request import Request
from millcalc.gcode.state import DEPTH
from millcalc.gcode.tuning import MAX_CALL_DEPTH
from millcalc.gcode.words import Block, FlowWord


class Calls(FlowBase):
    """Goes into subprograms and comes back."""

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
        self.machine.output.event("call", line + 1, number_of(word.label), word.label)
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


def number_of(label: str) -> float:
    """The number that a label is; NaN for one that is none."""
    return float(label) if label.isdigit() else float("nan")
