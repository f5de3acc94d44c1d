"""Pictures of work on the dividing head."""
