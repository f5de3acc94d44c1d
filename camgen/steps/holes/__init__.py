"""Steps that make or finish round holes."""
