"""Formulas of cutting mechanics: floats or arrays in, floats or arrays out.

Imports nothing of ours. One function is one formula of a named source; units stand in the names.
Validity ranges stand in the Notes of each function; nothing is clipped in silence.
"""
