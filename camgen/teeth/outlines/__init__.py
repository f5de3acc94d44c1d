"""Tooth forms: how each draws its tooth, with the sizes that a wheel has of its own."""
