"""Inspecting an instrument: where one looks, what is found, what becomes of it."""
