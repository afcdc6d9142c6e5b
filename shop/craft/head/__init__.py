"""Which string goes on which post of a head, and the drawing that shows it, front and back."""

from shop.craft.head.drawing import Box, Dot, Drawing, View
from shop.craft.head.layout import draw
from shop.craft.head.stringing import Post, at_nut, posts

__all__ = ["Box", "Dot", "Drawing", "Post", "View", "at_nut", "draw", "posts"]
