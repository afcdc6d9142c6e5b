"""Whether what was measured can be believed: the gauge, the hand, and how far off it may be."""
