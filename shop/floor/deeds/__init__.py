"""The deeds that change the floor, one file each. They are done through ``floor/door.py`` only."""
