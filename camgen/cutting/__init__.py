"""Speeds, feeds, forces, deflection, time and metal; every limit named."""
