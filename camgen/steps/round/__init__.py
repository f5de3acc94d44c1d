"""Steps at turned work held in the dividing head."""
