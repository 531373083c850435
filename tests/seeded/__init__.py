"""Faults put mechanically into ordinary programs and demo jobs, and what the check says about each.

`python -m tests.seeded` prints both tables, by kind of fault: with a job and without one.
"""
