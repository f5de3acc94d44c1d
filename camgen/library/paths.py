"""Two jobs' paths over one another, so that what moved is seen."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np

from camgen.arrays import Floats
from camgen.faults import Fault, Refused
from camgen.library.over_runs.chart import FORMATS, not_drawn_as
from camgen.messages import Message
from camgen.preview.paper.palette import palette
from camgen.proof.path import chords, is_cut, select
from camgen.reader.motion import Motion
from camgen.tolerances import ROUGH_CHORD
from camgen.values import dataclass

__all__ = ["Pair", "draw_paths"]



@dataclass(frozen=True)
class Pair:
    """One setup in both jobs; ``axes`` are the two drawn, 0 X, 1 Y, 2 Z."""

    title: str
    first: Motion
    second: Motion
    axes: tuple[int, int] = (0, 1)


def draw_paths(pairs: Sequence[Pair], names: tuple[str, str], format: str = "png") -> bytes:
    """The cuts of each pair to scale: the first job's broad, the second's fine and dark.

    Raises Refused when there is nothing to draw or the format is not known.
    """
    if format not in FORMATS:
        raise Refused(not_drawn_as(format))
    if not pairs:
        raise Refused(Fault(Message(
            "the two jobs have no setup of the same name to be drawn together")))
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

    colours = palette(False)
    figure = Figure(figsize=(7.1, 4.2 * len(pairs) + 0.5), dpi=150, layout="constrained",
                    facecolor=colours.paper)
    FigureCanvasAgg(figure)
    for place, pair in enumerate(pairs, 1):
        panel = figure.add_subplot(len(pairs), 1, place)
        for motion, colour, width in ((pair.first, colours.wanted, 3.0),
                                      (pair.second, colours.ink, 0.8)):
            across, up = _cuts(motion, pair.axes)
            panel.plot(across, up, color=colour, linewidth=width, solid_capstyle="round")
        panel.set_title(pair.title, loc="left", fontsize=11)
        panel.set_xlabel(f"{'XYZ'[pair.axes[0]]}, mm", fontsize=9)
        panel.set_ylabel(f"{'XYZ'[pair.axes[1]]}, mm", fontsize=9)
        panel.set_aspect("equal", adjustable="datalim")
        panel.tick_params(labelsize=8)
        panel.spines[["top", "right"]].set_visible(False)
    figure.legend(
        handles=[Line2D([], [], color=colours.wanted, linewidth=3.0, label=names[0]),
                 Line2D([], [], color=colours.ink, linewidth=0.8, label=names[1])],
        loc="outside lower left", ncols=2, fontsize=9, frameon=False,
    )
    out = io.BytesIO()
    about = {"png": {"Software": None}, "svg": {"Date": None}, "pdf": {"CreationDate": None}}
    figure.savefig(out, format=format, metadata=about[format])
    return out.getvalue()


def _cuts(motion: Motion, axes: tuple[int, int]) -> tuple[Floats, Floats]:
    """The cuts as one line with gaps, along two axes."""
    found = chords(select(motion, np.nonzero(is_cut(motion))[0]), ROUGH_CHORD)
    gap = np.full(len(found.start), np.nan)
    across, up = (
        np.column_stack((found.start[:, axis], found.end[:, axis], gap)).ravel() for axis in axes
    )
    return across, up
