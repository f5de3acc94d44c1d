"""Plane geometry of parts: paths of exact lines and arcs, and the shapes made from numbers."""
