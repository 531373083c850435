"""Is this program fit to run on this job? One rule is one function; its docstring is its documentation.

Takes a :class:`~millcalc.preflight.context.Context` (program, set-up, simulated cut); gives an
:class:`~millcalc.preflight.run.Outcome` of findings, what was not checked and what was accepted.
``families`` lists the rule modules, ``facts`` the columns they share, ``geometry`` the exact distances,
``limits`` what the advice allows, ``feed_model`` the feeds the machine really reaches.
May import findings, units, tuning, tables, job, mechanics, advise, gcode and stock; never report or cli.
"""

from millcalc.preflight.context import Context
from millcalc.preflight.registry import Rule
from millcalc.preflight.rules import all_rules
from millcalc.preflight.run import Outcome, run_rules

__all__ = ["Context", "Outcome", "Rule", "all_rules", "run_rules"]
