"""Ordinary programs, written by generators of our own in the styles that tools and hands produce; none has a fault.

`python -m tests.ordinary` prints how often each rule speaks about them, with and without a job.
"""
