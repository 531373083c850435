"""Cutting settings from mechanics and machine stiffness, and programs checked before they are run."""

__version__ = "0.1.0"
