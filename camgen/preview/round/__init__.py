"""Pictures of turned work in the dividing head."""
