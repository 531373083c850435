"""From a program, a job and tables to what was found: the one road of a check.

``prepare`` reads and simulates, ``run`` judges, ``build`` turns the outcome into the result ``model``; ``many`` does it
for folders, ``compare`` for two programs, ``timeline`` says when each motion happens. Gives
:class:`~millcalc.check.run.Looked`, which ``report`` and ``page`` show. May import every stage up to ``preflight``.
"""
