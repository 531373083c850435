"""A page behind its guard for the tests, and a browser that is let in."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from millcalc.page.app import Door, make_app
from millcalc.page.sessions import Sessions

HOST = "127.0.0.1:49723"
BASE = f"http://{HOST}"


def make_door(folder: Path, *, phone: bool = False) -> Door:
    """A door to jobs in a folder."""
    return Door({HOST, "localhost:49723"}, folder / "jobs", Sessions(phone=phone))


class Visitor:
    """A browser with a session."""

    def __init__(self, door: Door, *, inside: bool = True) -> None:
        self.door = door
        self.client = TestClient(make_app(door), base_url=BASE, raise_server_exceptions=False)
        if inside:
            assert self.client.get(f"/enter/{door.sessions.token}").status_code == 200
        self.csrf = self._csrf() if inside else ""

    def _csrf(self) -> str:
        found = re.search(r'name="csrf" content="([^"]+)"', self.get("/").text)
        assert found
        return found[1]

    def get(self, path: str, **more: Any) -> Any:
        return plain(self.client.get(path, **more))

    def post(self, path: str, data: dict[str, Any] | None = None, **more: Any) -> Any:
        headers = {"origin": BASE, **more.pop("headers", {})}
        return plain(
            self.client.post(path, data={"csrf": self.csrf, **(data or {})}, headers=headers, **more)
        )


def plain(answer: Any) -> Any:
    """An answer, after a look that no page tells a person to type something at a terminal."""
    if answer.headers.get("content-type", "").startswith("text/html"):
        words = words_of(re.sub(r"<(style|script)[^>]*>.*?</\1>", "", answer.text, flags=re.S))
        found = re.search(r"(?<![\w-])--[a-z]|millcalc (?:check|log|settings|measure)\b", words)
        assert found is None, words[max(0, found.start() - 80) : found.end() + 60]
    return answer


@contextmanager
def visitor(folder: Path, **more: Any) -> Iterator[Visitor]:
    """A browser that was let in to a page of its own."""
    made = Visitor(make_door(folder), **more)
    with made.client:
        yield made


def told(answer: Any) -> str:
    """What a person reads."""
    return words_of(answer.text)


def words_of(markup: str) -> str:
    """The words of a page without its markup."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", markup)))
