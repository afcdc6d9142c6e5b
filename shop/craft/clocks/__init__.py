"""Clocks: until when something dries, settles or rests, and what moves that moment."""

from shop.craft.clocks.holding import hold
from shop.craft.clocks.told import Air, Happening, Held, What

__all__ = ["Air", "Happening", "Held", "What", "hold"]
