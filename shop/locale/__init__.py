"""Words and figures in the languages of the shop."""
