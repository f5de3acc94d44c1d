"""What a new machine file is tried with: one millimetre, then every word in the air."""
