"""What may be changed on the shelf, one concern a file. The door to it is the ledger."""
