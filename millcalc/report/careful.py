"""A console that shows control characters in texts as codes, however the text came to it."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.text import Text

from millcalc.shown import OBEYED, code, shown


class CarefulConsole(Console):
    """The console of every printer: styles are its own, what stands in the texts commands nothing."""

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """Segments of anything that can be printed, as rich does it.

        renderable: Text, table or other.
        options: Of the console when None.
        Returns: Segments whose text holds no control character but line ends.
        """
        if isinstance(renderable, Text):
            renderable = careful_text(renderable)
        elif isinstance(renderable, str):
            renderable = shown(renderable)
        for segment in super().render(renderable, options):
            if segment.control or not OBEYED.search(segment.text):
                yield segment
            else:
                yield Segment(shown(segment.text), segment.style)


def careful_text(text: Text) -> Text:
    """A styled text with control characters as codes.

    text: Any.
    Returns: The same where it is harmless; else a copy whose styles stay on their characters.
    """
    if not OBEYED.search(text.plain):
        return text
    copy, at = text.blank_copy(), 0
    for found in OBEYED.finditer(text.plain):
        copy.append_text(text[at : found.start()])
        copy.append(code(found.group()))
        at = found.end()
    copy.append_text(text[at:])
    return copy
