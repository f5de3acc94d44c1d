"""The run chart: each size, piece by piece over the runs, with its limits."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from camgen.faults import Fault, Refused
from camgen.library.over_runs.statistics import SizeHistory, chart_limits, size_histories
from camgen.library.record import ProofRecord
from camgen.messages import Message
from camgen.preview.paper.palette import palette

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["FORMATS", "draw_chart", "not_drawn_as"]

FORMATS = ("png", "svg", "pdf")
_WIDTH, _HEIGHT = 7.1, 2.1  # inches: the width of an A4 sheet between its margins, and a strip


def not_drawn_as(format: str) -> Fault:
    """That no picture is made in this format, and in which."""
    return Fault(Message("no picture is made as {format}", format=repr(format)),
                 Message("one of {formats}", formats=FORMATS))


def draw_chart(
    record: ProofRecord, format: str = "png", say: Callable[[str], str] = str
) -> bytes:
    """The chart of every size measured in a job's runs, as PNG, SVG or PDF.

    Values are dots joined by a line, runs are parted by thin uprights, the nominal is a full line,
    limits of the size are dashed, limits of the chart (three deviations) dotted; ``say`` says the
    words at them. Raises Refused when nothing was measured or the format is not known.
    """
    if format not in FORMATS:
        raise Refused(not_drawn_as(format))
    histories = size_histories(record)
    if not histories:
        raise Refused(Fault(
            Message("no sizes were measured in any run"),
            Message("record some: camgen library record JOB --size NAME=VALUE")))
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    colours = palette(False)
    figure = Figure(figsize=(_WIDTH, _HEIGHT * len(histories)), dpi=150, layout="constrained",
                    facecolor=colours.paper)
    FigureCanvasAgg(figure)
    for place, history in enumerate(histories, 1):
        _draw(figure.add_subplot(len(histories), 1, place), history, colours.ink, colours.quiet,
              say)
    out = io.BytesIO()
    about = {"png": {"Software": None}, "svg": {"Date": None}, "pdf": {"CreationDate": None}}
    figure.savefig(out, format=format, metadata=about[format])
    return out.getvalue()


def _draw(
    axes: Axes, history: SizeHistory, ink: str, quiet: str, say: Callable[[str], str]
) -> None:
    values = history.values
    axes.plot(range(1, len(values) + 1), values, color=ink, marker="o", markersize=4, linewidth=0.8)
    axes.set_title(f"{history.size}, {history.unit}", fontsize=10, loc="left")
    axes.tick_params(labelsize=8)
    axes.spines[["top", "right"]].set_visible(False)
    axes.ticklabel_format(axis="y", useOffset=False)
    axes.margins(x=0.1, y=0.2)
    lines = [(history.nominal, "-", say(Message("nominal")))]
    lines += [(limit, "--", say(name)) for limit, name in (
        (history.lower, Message("least")), (history.upper, Message("most"))) if limit is not None]
    if len(values) >= 2:
        limits, chart = chart_limits(values), say(Message("chart"))
        lines += [(limits.lower, ":", chart), (limits.upper, ":", chart)]
    for height, style, _ in lines:
        axes.axhline(height, color=quiet, linestyle=style, linewidth=1.0)
    for height, name in _apart([(height, name) for height, _, name in lines], axes):
        axes.annotate(name, (1.0, height), xycoords=("axes fraction", "data"), fontsize=8,
                      xytext=(3, 0), textcoords="offset points", va="center", color=ink)
    for number in range(1, len(values)):
        if history.runs[number] != history.runs[number - 1]:
            axes.axvline(number + 0.5, color=quiet, linewidth=0.6)
    axes.set_xlabel(say(Message("piece, in the order of the runs")), fontsize=8)
    axes.locator_params(axis="x", integer=True)


def _apart(labels: Sequence[tuple[float, str]], axes: Axes) -> list[tuple[float, str]]:
    """Labels that would stand on one already placed are left out; the lines tell by their style."""
    low, high = axes.get_ylim()
    need = (high - low) * 0.09
    placed: list[tuple[float, str]] = []
    for height, name in labels:
        if all(abs(height - other) >= need for other, _ in placed):
            placed.append((height, name))
    return placed
