"""Formulas of cutting mechanics: floats or arrays in, floats or arrays out.

Imports nothing of ours; numpy only. One function is one formula of a named source; units stand in the names.
Validity ranges stand in the Notes of each function; impossible input raises ValueError, nothing is clipped in
silence. ``kinematics`` speed and feed; ``engagement`` angles and effective diameters; ``chip``, ``chip_forms``
and ``runout`` thickness; ``kienzle`` and ``unit_power`` power and torque; ``linear_edge`` mean forces; ``turn``
forces over a turn; ``deflection`` and ``wall`` bending; ``stability`` and ``lobes`` chatter; ``spindle`` power at
speed; ``motion`` acceleration; ``surface`` marks; ``entries`` ramps and helices; ``drilling``; ``holddown``;
``life`` wear and heat.
"""
