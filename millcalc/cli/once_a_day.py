"""What is shown at a terminal on the first run of a day, and not again before the next."""

from __future__ import annotations

import sys
from datetime import date


def first_today(what: str) -> bool:
    """Whether something has not been shown at a terminal today; from now on it has.

    what: A word for it; names the small file in the person's data folder that holds the day.
    Returns: Never in a pipe, nor where the day cannot be noted: it would be shown in every run then.
    """
    from millcalc.cutlog.where import data_folder
    from millcalc.errors import InputError
    from millcalc.files import write_text

    if not sys.stdout.isatty():
        return False
    mark, today = data_folder() / f"{what}.day", date.today().isoformat()
    try:
        if mark.is_file() and mark.read_text(encoding="utf-8").strip() == today:
            return False
        mark.parent.mkdir(parents=True, exist_ok=True)
        write_text(mark, today + "\n", replace=True)
    except (OSError, UnicodeDecodeError, InputError):
        return False
    return True
