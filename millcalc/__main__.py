"""``python -m millcalc``."""

from millcalc.cli.main import run

if __name__ == "__main__":
    run()
