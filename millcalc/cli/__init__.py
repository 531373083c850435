"""placeholder docstring, to be written: what this sub-package takes, gives and may import."""
