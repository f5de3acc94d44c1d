"""Pictures of flat work."""
