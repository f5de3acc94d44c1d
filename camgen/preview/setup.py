"""The picture of one setup, whichever kind it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from camgen.layout import FlatLayout, RoundLayout, ToothLayout
from camgen.preview.course.track import traced
from camgen.preview.flat.flat_picture import draw_flat, layout_around_track
from camgen.preview.head.tooth_picture import Mate, draw_teeth
from camgen.preview.paper.board import HEADING, Board, Box, Style, new_board
from camgen.preview.paper.palette import palette
from camgen.preview.round.round_picture import draw_round
from camgen.proof.path import joined
from camgen.proof.result import Proof
from camgen.reader.motion import ReadProgram
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["HEIGHT", "WIDTH", "Mate", "Picture", "board_of_setup", "draw_head", "draw_setup"]

WIDTH, HEIGHT = 180.0, 122.0


@dataclass(frozen=True)
class Picture:
    """A picture's bytes, what it shows, in words, and the texts on it as they were drawn."""

    content: bytes
    says: str
    texts: tuple[str, ...] = ()


def draw_setup(
    layout: FlatLayout | ToothLayout | RoundLayout | None,
    programs: Sequence[ReadProgram],
    machine: Machine,
    cutters: Mapping[int, Cutter],
    proofs: Sequence[Proof],
    title: str,
    *,
    subtitle: str = "",
    names: Mapping[int, str] | None = None,
    mate: Mate | None = None,
    format: Style = "png",
    dark: bool = False,
    language: str = "en",
    rapids: bool = False,
) -> Picture:
    """The picture of a setup's programs as read back.

    ``cutters`` and ``names`` are by the number the program calls them by. With no ``layout`` the
    motion alone is drawn, as of flat work. ``rapids``: all of them, however many. Never raises
    for what a program holds: what is not known is not drawn.
    """
    board, says = board_of_setup(layout, programs, machine, cutters, proofs, title,
                                 subtitle=subtitle, names=names, mate=mate, dark=dark,
                                 language=language, rapids=rapids)
    return Picture(board.bytes(format, title, says), says,
                   tuple(text.get_text() for text in board.texts))


def board_of_setup(
    layout: FlatLayout | ToothLayout | RoundLayout | None,
    programs: Sequence[ReadProgram],
    machine: Machine,
    cutters: Mapping[int, Cutter],
    proofs: Sequence[Proof],
    title: str,
    *,
    subtitle: str = "",
    names: Mapping[int, str] | None = None,
    mate: Mate | None = None,
    dark: bool = False,
    language: str = "en",
    rapids: bool = False,
) -> tuple[Board, str]:
    """The same before it is turned to bytes, so that its texts can be measured."""
    board = new_board(WIDTH, HEIGHT, palette(dark), language)
    board.source = "\n".join(line for program in programs for line in program.lines)
    motion = joined(tuple(program.motion for program in programs))
    track = traced(motion, machine)
    draw_head(board, title, subtitle, proofs)
    area = Box(2.0, 2.0, WIDTH - 4.0, HEIGHT - 12.5)
    match layout:
        case ToothLayout():
            return board, draw_teeth(board, layout, track, cutters, area, mate)
        case RoundLayout():
            return board, draw_round(board, layout, track, cutters, area)
        case FlatLayout():
            flat = layout
        case None:
            flat = layout_around_track(track)
    return board, draw_flat(board, flat, track, cutters, names or {}, area, rapids=rapids)


def draw_head(board: Board, title: str, subtitle: str, proofs: Sequence[Proof]) -> None:
    """The board's first line: title, what else there is to say, whether all proofs hold."""
    held = sum(proof.holds for proof in proofs)
    verdict = board.says("verdict", held=held, all=len(proofs)) if proofs else ""
    line = board.height - 6.5
    right = board.text(board.width - 2, line, verdict, across="right")
    room = board.extent(right).x if verdict else board.width - 2
    name = board.text(2, line, title, size=HEADING, weight="bold", width=room - 6)
    after = board.extent(name)
    if subtitle and room - after.x - after.width > 16:
        board.text(after.x + after.width + 3, line, subtitle, colour=board.colours.quiet,
                   width=room - after.x - after.width - 6)
    board.line([(2, line - 2.2), (board.width - 2, line - 2.2)], colour=board.colours.ink,
               width=0.8)
