"""The demo workshop: an invented shop on an invented Monday morning.

Everything comes in by the doors real work uses: badges are issued, the catalogue is read
in, stock is received, instruments are released, trays picked and closed, steps recorded.
Days are counted from the day of loading, so the floor is always in the middle of a shift.
"""
