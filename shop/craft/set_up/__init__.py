"""Setting an instrument up: what was measured becomes what is cut next, with its arithmetic.

One subject a file. Lengths are millimetres, heights are above the plane through the tops of
the frets unless said, the scale is measured from the front of the nut.
"""
