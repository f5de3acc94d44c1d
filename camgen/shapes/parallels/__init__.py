"""What parallels of paths are made of: parts cut where they cross, and the loops of them."""
