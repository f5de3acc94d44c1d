"""camgen: proved milling programs for watch parts, from job files in trade words."""

__version__ = "0.1.0"
