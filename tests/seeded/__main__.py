"""Print both tables: `python -m tests.seeded [programs a kind] [--why]`."""

import sys

from tests.seeded.table import lines_of, table

if __name__ == "__main__":
    most = next((int(word) for word in sys.argv[1:] if word.isdigit()), 6)
    for title, with_job in (("without a job", False), ("with a job", True)):
        if f"--{title.split()[0]}-only" in sys.argv or not any(w.endswith("-only") for w in sys.argv):
            print(
                f"\n{title}\n" + "\n".join(lines_of(table(with_job, most), "--why" in sys.argv)), flush=True
            )
