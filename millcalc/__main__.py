"""``python -m millcalc``."""

from millcalc.cli.main import main

if __name__ == "__main__":
    main()
