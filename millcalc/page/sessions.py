"""Who is known: by the token in the address that opens, or by a one-time code; a session a browser."""

from __future__ import annotations

import hmac
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from millcalc.page import tuning

COOKIE = "millcalc"


@dataclass
class Session:
    """One browser that was let in.

    name: Secret the cookie carries.
    csrf: Secret every form carries.
    units: Units shown, once chosen.
    seen_care: Whether the cautions were shown in this sitting.
    last: The latest form of settings.
    advices: Advices of this sitting by the name their page gave them.
    """

    name: str
    csrf: str
    units: str | None = None
    seen_care: bool = False
    last: dict[str, str] = field(default_factory=dict)
    advices: OrderedDict[str, Any] = field(default_factory=OrderedDict)

    def keep(self, advice: Any) -> str:
        """Keep an advice for the log and the sheet; the oldest are forgotten.

        advice: What the page needs to show it again.
        Returns: Its name.
        """
        name = secrets.token_urlsafe(9)
        self.advices[name] = advice
        while len(self.advices) > tuning.MOST_ADVICES:
            self.advices.popitem(last=False)
        return name


class Sessions:
    """The sessions of a server, and the ways in.

    phone: Whether a phone may come in by a code.
    tell: Told each new code, to show it where only the person sees it.
    """

    def __init__(self, *, phone: bool = False, tell: Callable[[str], None] | None = None) -> None:
        self.token = secrets.token_urlsafe(32)
        self.phone = phone
        self._tell = tell
        self._known: OrderedDict[str, Session] = OrderedDict()
        self._lock = threading.Lock()
        self._wrong = 0
        self._wrong_in_all = 0
        self.code = ""
        if phone:
            self._new_code()

    def _new_code(self) -> None:
        self._wrong = 0
        self.code = "".join(secrets.choice("0123456789") for _ in range(tuning.CODE_DIGITS))
        if self._tell is not None:
            self._tell(self.code)

    def begin(self) -> Session:
        """A new session; the oldest is forgotten when there are too many."""
        made = Session(secrets.token_urlsafe(32), secrets.token_urlsafe(32))
        with self._lock:
            self._known[made.name] = made
            while len(self._known) > tuning.MOST_SESSIONS:
                self._known.popitem(last=False)
        return made

    def find(self, name: str | None) -> Session | None:
        """The session a cookie names; None when there is none."""
        with self._lock:
            return self._known.get(name or "")

    def is_token(self, token: str) -> bool:
        """Whether a token is the one of the address that opens."""
        return hmac.compare_digest(token.encode(), self.token.encode())

    def enter(self, code: str) -> Session | None:
        """Let a phone in by its code; a code lets one in, and is replaced after a few wrong tries.

        code: As typed.
        Returns: A new session; None when the code is wrong or none is accepted any more.
        """
        with self._lock:
            if not self.phone or self._wrong_in_all >= tuning.CODE_TRIES_IN_ALL:
                return None
            good = hmac.compare_digest("".join(code.split()).encode(), self.code.encode())
            if good:
                self._new_code()
            else:
                self._wrong += 1
                self._wrong_in_all += 1
                if self._wrong >= tuning.CODE_TRIES:
                    self._new_code()
        return self.begin() if good else None

    @property
    def closed(self) -> bool:
        """Whether so many wrong codes were typed that none is accepted any more."""
        return self._wrong_in_all >= tuning.CODE_TRIES_IN_ALL
