"""Signs that are not seen, shown as such: no text of a file can pass for what the program says."""

from __future__ import annotations

import re

__all__ = ["UNSEEN", "in_one_line", "shown"]

# Controls of ISO 6429, marks that turn the direction of writing, and what has no width: they
# change what is read without being seen (Unicode, categories Cc, Cf, Zl, Zp; lone surrogates).
_CLASS = ("\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f"
          "\ufeff\ufff9-\ufffb\ud800-\udfff\U000e0000-\U000e007f")
UNSEEN = re.compile(f"[{_CLASS}]")
"""What is not seen, less the tab and the end of a line."""
_BREAKS = re.compile(f"[\t\n{_CLASS}]")


def _spelt(found: re.Match[str]) -> str:
    code = ord(found[0])
    return {9: "\\t", 10: "\\n", 13: "\\r"}.get(
        code, f"\\x{code:02x}" if code < 256 else f"\\u{code:04x}")


def shown(text: str) -> str:
    """``text`` with what is not seen spelt out; ends of lines stay.

    >>> shown("wheel\\x1b[2J")
    'wheel\\\\x1b[2J'
    """
    return UNSEEN.sub(_spelt, text)


def in_one_line(text: str) -> str:
    """The same with ends of lines and tabs spelt out too: a name never goes on in a second line.

    >>> in_one_line("wheel\\nAll proofs hold")
    'wheel\\\\nAll proofs hold'
    """
    return _BREAKS.sub(_spelt, text)
