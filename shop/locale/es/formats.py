"""Figures keep their point in Spanish too: it is what a gauge shows and what is typed."""

DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = "\u00a0"
