"""Figures of quality: what passes at once, which defects cost most, how far eyes agree.

All of them are of stations, specs and weeks, never of a person.
"""
