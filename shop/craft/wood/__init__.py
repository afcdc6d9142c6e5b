"""Wood and the air of the room: its moisture, how far it moves, when glue may be used."""
