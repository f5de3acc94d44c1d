"""What the sheet tells of work on the dividing head."""
