"""Print the rates of every rule on the ordinary programs: `python -m tests.ordinary`."""

from tests.ordinary.table import lines, rates

if __name__ == "__main__":
    for title, job in (("without a job", False), ("with a job that knows stock, zero and cutters", True)):
        print(f"\n{title}")
        print("\n".join(lines(rates(job))))
