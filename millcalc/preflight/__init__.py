"""Is this program fit to run on this job? One rule is one function; its docstring is its documentation.

Takes a :class:`~millcalc.preflight.context.Context` (program, set-up, simulated cut); gives an
:class:`~millcalc.preflight.run.Outcome` of findings, what was not checked and what was accepted.
``rules`` holds the rules, ``needs`` what they may ask for, ``facts`` the columns they share, ``uses`` what each cut
uses of every limit, ``clearances`` the gaps to screws and clamps, ``feed_model`` the feeds the machine reaches,
``blocks`` findings joined by place or cause with one remedy each (``remedy``, ``feed_words``, ``move_screw``).
May import findings, units, tables, job, mechanics, limits, gcode and stock; never report or cli.
"""

from millcalc.preflight.context import Context
from millcalc.preflight.registry import Rule
from millcalc.preflight.rules import all_rules
from millcalc.preflight.run import Outcome, run_rules

__all__ = ["Context", "Outcome", "Rule", "all_rules", "run_rules"]
