"""Https on the shop's own network: an authority of its own, and how phones come to trust it."""
