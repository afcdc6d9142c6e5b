"""Readings one after another: what is usual for them, what is not, and what they are good for."""
