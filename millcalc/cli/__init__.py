"""The command line: one command a file, each a thin shell over the stages.

Modules here import typer and the standard library at the top, everything else inside the command, so that
``millcalc --help`` starts at once. Nothing imports this package.
"""
