"""What stands on the arbor, in pictures: each thing with a look and a word of its own in the key.

Told apart by the hatching, so that a black-and-white print loses nothing.
"""

from __future__ import annotations

from collections.abc import Iterable

from camgen.job.on_arbor import Turned
from camgen.layout import ToothLayout
from camgen.preview.paper.board import Board
from camgen.preview.paper.key import Sample
from camgen.preview.paper.palette import HATCHES

__all__ = ["arbor_key", "body_key", "hatch_of"]

# What goes by the word of another thing.
_WITH = {"tailstock's centre": "tailstock", "front backing": "backing"}


def hatch_of(name: str) -> str | None:
    """The hatching of a thing on the arbor by the name of its body; None for what has none.

    >>> hatch_of("nut") != hatch_of("arbor"), hatch_of("backing"), hatch_of("blanks")
    (True, None, None)
    """
    return next((look for word, look in HATCHES.items() if word == _word(name)), "") or None


def arbor_key(board: Board, layout: ToothLayout) -> list[tuple[Sample, str]]:
    """A sample and the word of each thing that stands there, in an order of its own."""
    return body_key(board, layout.bodies)


def body_key(board: Board, bodies: Iterable[Turned]) -> list[tuple[Sample, str]]:
    """The same of any bodies."""
    words = {_word(body.name) for body in bodies}
    return [(word, board.say("on-arbor", word)) for word in HATCHES if word in words]


def _word(name: str) -> str:
    return _WITH.get(name, name)
