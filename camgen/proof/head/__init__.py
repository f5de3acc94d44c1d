"""Work on the dividing head as the programs cut it against the part as meant."""
