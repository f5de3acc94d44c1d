"""Machine files: asked for, drafted, changed in place, and told in sentences."""
