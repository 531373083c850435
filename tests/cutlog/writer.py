"""A process that writes to a log at random and says each change once it is committed.

Run as ``python writer.py LOG SEED COUNT``. Prints ``add NUMBER UID``, ``edit NUMBER NOTES``, ``remove NUMBER``.
"""

from __future__ import annotations

import random
import sys

from cuts import cut

from millcalc.cutlog.store import Log


def main(path: str, seed: int, count: int) -> None:
    """Write `count` random changes."""
    rng = random.Random(seed)
    own: list[int] = []
    with Log(path, who=f"writer {seed}") as log:
        for step in range(count):
            kind = rng.choice(("add", "add", "edit", "remove")) if own else "add"
            if kind == "add":
                stored = log.add(cut(notes=f"{seed}/{step} " + "z" * rng.randrange(3000)))
                own.append(stored.number)
                line = f"add {stored.number} {stored.entry.uid}"
            elif kind == "edit":
                number = rng.choice(own)
                log.edit(number, {"notes": f"{seed}-{step}"})
                line = f"edit {number} {seed}-{step}"
            else:
                number = own.pop(rng.randrange(len(own)))
                log.remove(number)
                line = f"remove {number}"
            sys.stdout.write(line + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
