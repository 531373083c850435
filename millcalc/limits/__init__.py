"""What a cut asks for, what there is, and how sure that is: the one place where limits are judged.

Takes machine, material and cutter from the tables (and from a job), numbers or arrays of settings, and gives uses
of limits. ``table.LIMITS`` is the list: one row a limit; adding one is a function and a row. ``tooling`` is what cuts
what, ``state`` what follows from a setting, ``spread`` and ``chances`` how well it is known. May import tables, job
and mechanics; never advise, preflight or reports.
"""
