"""Motion work, where the pinion drives: no table of the standard was at hand, geometry was."""

from __future__ import annotations

