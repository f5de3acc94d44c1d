"""Outlines read in from drawings: DXF and SVG."""
