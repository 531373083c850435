"""Tuning numbers of page: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Port tried first [-]: from the range for private use (RFC 6335, section 6); a free one is taken when it is in use.
PORT: Final = 49723
# Largest body of a form, and of a request that carries a file [byte]. Estimates: forms of 2000 screws; programs that
# home machines run.
MOST_FORM_BYTES: Final = 1_000_000
MOST_UPLOAD_BYTES: Final = 80_000_000
# Time in which a request must have arrived whole [s]: 80 MB over slow workshop wireless. Estimate.
UPLOAD_SECONDS: Final = 120.0
# People known at once [-]: laptop, phone, and forgotten tabs. Estimate.
MOST_SESSIONS: Final = 64
# Digits of the one-time code of a phone, and wrong tries before it is replaced [-]: chance of a guess 1 in 200 000.
CODE_DIGITS: Final = 6
CODE_TRIES: Final = 5
# Wrong codes in all before no more phone is let in until the page is started anew [-]. Estimate.
CODE_TRIES_IN_ALL: Final = 50
# Advices kept of a sitting, for the log and the sheet [-]. Estimate.
MOST_ADVICES: Final = 200
# Time a check may take [s], and memory it may use [byte]. Estimates: twenty times the largest program tried.
CHECK_SECONDS: Final = 600.0
CHECK_BYTES: Final = 6_000_000_000
# Checks that may wait [-]: those of a folder. Estimate.
MOST_WAITING: Final = 40
# Files of one form [-]: a folder of programs. Estimate.
MOST_FILES: Final = 40
# Size of a name that a program's upload gives to its folder [-]. Estimate.
NAME_LETTERS: Final = 40
# Advices remembered by what was asked [-]: about 14 kB each. Estimate.
MOST_REMEMBERED: Final = 256
