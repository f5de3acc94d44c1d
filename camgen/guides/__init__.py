"""The guides: what is longer than a screen, each a file for each language beside this one.

A guide is Markdown. A block after ``<!-- file NAME -->`` is a file to save, one after
``<!-- run -->`` commands with some of what they answer; both are followed by the tests.
"""

from __future__ import annotations

import re
import textwrap
from pathlib import Path

from camgen.values import dataclass

__all__ = ["Guide", "find_guide", "guide_names"]

_FOLDER = Path(__file__).resolve().parent
# In the order in which somebody new would read them.
_ORDER = ("first-wheel", "first-plate", "two-sides", "my-mill", "proven-jobs", "bought-cutters",
          "the-head", "many-at-once", "trade-words")
_FILE = re.compile(r"<!-- file (?P<name>\S+) -->\n```\w*\n(?P<text>.*?)```\n", re.DOTALL)
# A space at which no line is broken.
_BOUND = "\xa0"
_HANGING = re.compile(r"(- |\d+\. +)")


@dataclass(frozen=True, slots=True)
class Guide:
    """A guide by its ``name``, in one language: Markdown."""

    name: str
    text: str

    @property
    def title(self) -> str:
        """Its first line."""
        return self.text.partition("\n")[0].removeprefix("# ")

    @property
    def files(self) -> dict[str, str]:
        """The files that it asks to save: name, contents."""
        return {found["name"]: found["text"] for found in _FILE.finditer(self.text)}

    def shown(self, width: int) -> str:
        """The guide as it stands on a screen of ``width`` letters: what is to be typed stands in.
        """
        return "\n\n".join(_shown(part, width) for part in _parts(self.text)) + "\n"


def guide_names() -> tuple[str, ...]:
    """The guides there are, in the order in which somebody new would read them.

    >>> guide_names()[0]
    'first-wheel'
    """
    return _ORDER


def find_guide(name: str, language: str = "en") -> Guide:
    """A guide in ``language``. Raises KeyError where there is none of that name."""
    if name not in _ORDER:
        raise KeyError(name)
    return Guide(name, (_FOLDER / language / f"{name}.md").read_text(encoding="utf-8"))


def _parts(text: str) -> list[str]:
    """Headings, paragraphs, items of lists and fenced blocks, each whole; marks are left out."""
    found: list[list[str]] = [[]]
    fenced = False
    for line in text.splitlines():
        if line.startswith("```"):
            fenced = not fenced
            found += [[line]] if fenced else [[]]
        elif fenced:
            found[-1].append(line)
        elif not line.strip() or line.startswith("<!--"):
            found.append([])
        elif _HANGING.match(line):
            found.append([line])
        else:
            found[-1].append(line.strip())
    return ["\n".join(lines) for lines in found if lines]


def _shown(part: str, width: int) -> str:
    """
    >>> print(_shown("## Make it", 60))
    MAKE IT
    >>> print(_shown("Say `at: [0, 0]`\\nor none.", 60))
    Say 'at: [0, 0]' or none.
    """
    if part.startswith("```"):
        return textwrap.indent(part.partition("\n")[2], "    ")
    if part.startswith("#"):
        return part.lstrip("# ").upper()
    lead = found[0] if (found := _HANGING.match(part)) else ""
    # What stands between ticks is typed as it is: on one line, where it is not too long for that.
    words = re.sub(r"`([^`]*)`", lambda found: "'" + (
        found[1].replace(" ", _BOUND) if len(found[1]) < width // 2 else found[1]) + "'", part)
    return textwrap.fill(words, width, subsequent_indent=" " * len(lead), break_on_hyphens=False,
                         break_long_words=False).replace(_BOUND, " ")
