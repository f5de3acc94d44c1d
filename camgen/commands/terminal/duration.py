"""Durations as said at the bench."""

from __future__ import annotations

__all__ = ["time_words"]


def time_words(seconds: float) -> str:
    """A duration, seconds, in words.

    >>> time_words(42.4), time_words(754), time_words(4000), time_words(3599.6)
    ('42 s', '12 min 34 s', '1 h 07 min', '1 h 00 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    minutes = round(whole / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min"
