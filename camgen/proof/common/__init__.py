"""What several wings ask of the evidence: the head's frame, the ways of rapids, stock as faced."""
