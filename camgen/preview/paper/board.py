"""A picture as a board measured in millimetres, with panels to scale, loupes and a key.

The board is as wide as the printing area of an A4 page, so that a millimetre here is one on paper
and type sizes are what they say. Drawing goes through the library's own objects; it keeps no state
between pictures.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterable, Sequence
from dataclasses import field
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from camgen.preview.paper.palette import DASHES, WIDTHS, Palette
from camgen.values import dataclass
from camgen.words import Words, words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch
    from matplotlib.text import Text

__all__ = ["Board", "Box", "Panel", "Style", "cut_text", "new_board", "round_step"]

Style: TypeAlias = Literal["png", "svg", "pdf"]

POINTS_PER_MM = 72 / 25.4
DOTS_PER_INCH = 200
TYPE = 8.0
HEADING = 11.0


@dataclass(frozen=True, slots=True)
class Box:
    """A place on the board: lower left corner, width and height, mm."""

    x: float
    y: float
    width: float
    height: float

    @property
    def centre(self) -> tuple[float, float]:
        """Its middle, mm."""
        return self.x + self.width / 2, self.y + self.height / 2

    def holds(self, point: tuple[float, float]) -> bool:
        """Whether a point of the board lies in it."""
        return (self.x <= point[0] <= self.x + self.width
                and self.y <= point[1] <= self.y + self.height)

    def overlaps(self, other: Box) -> bool:
        """Whether the two share any area.

        >>> Box(0, 0, 2, 2).overlaps(Box(1, 1, 2, 2)), Box(0, 0, 1, 1).overlaps(Box(1, 0, 1, 1))
        (True, False)
        """
        return (self.x < other.x + other.width and other.x < self.x + self.width
                and self.y < other.y + other.height and other.y < self.y + self.height)


@dataclass(frozen=True)
class Panel:
    """A part of the board with its own coordinates.

    ``scale`` is mm on paper for one mm of work, 0 where the panel is not to scale.
    ``round`` is the ring a loupe is clipped to.
    """

    axes: Axes
    box: Box
    scale: float = 0.0
    round: Patch | None = None

    def width_of(self, millimetres: float) -> float:
        """Points of line width for a true width in mm of work."""
        return millimetres * self.scale * POINTS_PER_MM

    def on_board(self, x: float, y: float) -> tuple[float, float]:
        """Where a point of the panel lies on the board, mm."""
        low_x, high_x = self.axes.get_xlim()
        low_y, high_y = self.axes.get_ylim()
        return (self.box.x + (x - low_x) / (high_x - low_x) * self.box.width,
                self.box.y + (y - low_y) / (high_y - low_y) * self.box.height)

    def add(self, artist: Any) -> None:
        """Put a line, patch or collection in, clipped to the panel (or the loupe's ring)."""
        # A panel's bounds are set: they are not looked for anew with each thing put in.
        self.axes.add_artist(artist)
        if self.round is not None:
            artist.set_clip_path(self.round)


@dataclass
class Board:
    """The picture being made."""

    figure: Figure
    width: float
    height: float
    colours: Palette
    texts: list[Text] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)
    layer: int = 40
    source: str = ""
    say: Words = field(default_factory=words)

    def says(self, key: str, **fields: object) -> str:
        """A text of the catalogue of pictures, in the board's language."""
        return self.say("pictures", key, **fields)

    def panel(self, box: Box, x: tuple[float, float], y: tuple[float, float]) -> Panel:
        """A panel whose coordinates run over ``x`` and ``y``, not to scale."""
        axes = self.figure.add_axes(
            (box.x / self.width, box.y / self.height, box.width / self.width,
             box.height / self.height))
        axes.set_axis_off()
        axes.set_xlim(*x)
        axes.set_ylim(*y)
        axes.set_autoscale_on(False)
        return Panel(axes, box)

    def scaled(
        self, box: Box, bounds: tuple[float, float, float, float], largest: float = 1e9
    ) -> Panel:
        """A panel to scale that shows ``bounds`` (x from, y from, x to, y to), in its middle.

        ``largest`` bounds the scale.
        """
        wide, high = max(bounds[2] - bounds[0], 1e-9), max(bounds[3] - bounds[1], 1e-9)
        scale = min(box.width / wide, box.height / high, largest)
        middle_x, middle_y = (bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2
        half_x, half_y = box.width / scale / 2, box.height / scale / 2
        plain = self.panel(box, (middle_x - half_x, middle_x + half_x),
                           (middle_y - half_y, middle_y + half_y))
        return Panel(plain.axes, box, scale)

    def loupe(
        self, centre: tuple[float, float], diameter: float, on: tuple[float, float], radius: float
    ) -> Panel:
        """A round panel at ``centre`` on the board: ``radius`` mm of work about ``on``."""
        from matplotlib.patches import Circle

        # Each loupe lies over the lines that point to the one before it.
        self.layer += 2
        half = diameter / 2
        box = Box(centre[0] - half, centre[1] - half, diameter, diameter)
        panel = self.scaled(box, (on[0] - radius, on[1] - radius, on[0] + radius, on[1] + radius))
        panel.axes.set_zorder(self.layer)
        ground = Circle((0.5, 0.5), 0.5, transform=panel.axes.transAxes, zorder=-10,
                        facecolor=self.colours.paper, edgecolor="none")
        panel.axes.add_artist(ground)
        ring = Circle((0.5, 0.5), 0.5, transform=panel.axes.transAxes, zorder=50,
                      facecolor="none", edgecolor=self.colours.ink, linewidth=1.2, clip_on=False)
        panel.axes.add_artist(ring)
        return Panel(panel.axes, box, panel.scale, ground)

    def text(
        self, x: float, y: float, words: str, *, size: float = TYPE, colour: str | None = None,
        across: Literal["left", "center", "right"] = "left",
        up: Literal["baseline", "bottom", "center", "top"] = "baseline",
        weight: Literal["normal", "bold"] = "normal", halo: bool = False, turned: float = 0.0,
        width: float | None = None,
    ) -> Text:
        """Words at a place on the board, mm; cut to ``width`` mm where given."""
        text = self.figure.text(
            x / self.width, y / self.height, words, fontsize=size,
            color=colour or self.colours.ink, ha=across, va=up, fontweight=weight,
            rotation=turned, zorder=90, parse_math=False)
        if width is not None:
            while len(text.get_text()) > 4 and self.extent(text).width > width:
                text.set_text(cut_text(words, len(text.get_text()) - 1))
        if halo:
            from matplotlib.patheffects import withStroke

            text.set_path_effects([withStroke(linewidth=2.2, foreground=self.colours.paper)])
        self.texts.append(text)
        self.taken.append(self.extent(text))
        return text

    def extent(self, text: Text) -> Box:
        """The place a text takes, mm."""
        found = text.get_window_extent(self.figure.canvas.get_renderer())  # type: ignore[attr-defined]
        per = self.figure.dpi / 25.4
        return Box(found.x0 / per, found.y0 / per, found.width / per, found.height / per)

    def label(
        self, x: float, y: float, words: str, *, away: float = 1.2, size: float = TYPE,
        colour: str | None = None, within: Box | None = None, first: float = 1.0,
        weight: Literal["normal", "bold"] = "normal",
    ) -> bool:
        """Words beside a place, where there is room; false and nothing drawn where there is none.

        ``away`` is the distance kept from the place, mm; ``first`` the side tried first, 1 for
        right and -1 for left.
        """
        text = self.figure.text(0, 0, words, fontsize=size, color=colour or self.colours.ink,
                                ha="left", va="bottom", zorder=90, parse_math=False,
                                fontweight=weight)
        whole = self.extent(text)
        wide, high = whole.width, whole.height
        bound = within or Box(0, 0, self.width, self.height)
        slant = away * 0.7
        right = ((x + slant, y + slant), (x + slant, y - slant - high), (x + away, y - high / 2))
        left_of = tuple((2 * x - wide - px, py) for px, py in right)
        sides = zip(right, left_of, strict=True) if first > 0 else zip(left_of, right, strict=True)
        tries = (*(place for pair in sides for place in pair), (x - wide / 2, y + away),
                 (x - wide / 2, y - away - high))
        for left, low in tries:
            place = Box(left - 0.5, low, wide + 1.0, high)
            inside = (left >= bound.x and low >= bound.y and left + wide <= bound.x + bound.width
                      and low + high <= bound.y + bound.height)
            if inside and not any(place.overlaps(other) for other in self.taken):
                from matplotlib.patheffects import withStroke

                text.set_position((left / self.width, low / self.height))
                text.set_path_effects([withStroke(linewidth=2.2, foreground=self.colours.paper)])
                self.texts.append(text)
                self.taken.append(place)
                return True
        text.remove()
        return False

    def keep_clear(self, box: Box) -> None:
        """No label is put here."""
        self.taken.append(box)

    def line(self, points: Sequence[tuple[float, float]], kind: str = "frame",
             colour: str | None = None, width: float | None = None, layer: float = 40) -> None:
        """A line on the board itself, mm."""
        from matplotlib.lines import Line2D

        self.figure.add_artist(Line2D(
            [p[0] / self.width for p in points], [p[1] / self.height for p in points],
            transform=self.figure.transFigure, color=colour or self.colours.quiet,
            linewidth=width or WIDTHS.get(kind, 0.6), linestyle=DASHES.get(kind, (0, ())),
            dash_capstyle="round", zorder=layer))

    def pointers(self, ring: Panel, on: tuple[float, float], radius: float) -> None:
        """From a spot of ``radius`` mm on the board to the loupe that enlarges it: two tangents."""
        import math

        (x0, y0), r0 = on, radius
        x1, y1 = ring.box.centre
        r1 = ring.box.width / 2
        apart = math.hypot(x1 - x0, y1 - y0)
        if apart <= abs(r1 - r0):
            return
        towards, open_ = math.atan2(y1 - y0, x1 - x0), math.acos((r0 - r1) / apart)
        for sense in (1, -1):
            angle = towards + sense * open_
            ux, uy = math.cos(angle), math.sin(angle)
            self.line([(x0 + r0 * ux, y0 + r0 * uy), (x1 + r1 * ux, y1 + r1 * uy)], width=0.5,
                      layer=ring.axes.get_zorder() - 1)

    def scale_bar(
        self, scale: float, x: float, y: float, what: str = "", longest: float = 10.0,
        across: Literal["left", "center", "right"] = "left",
    ) -> None:
        """A bar of a round length at a ``scale``, and beside it that length and ``what`` has it.

        It stays true when the picture is shown smaller, as a ratio would not. ``x`` is the left
        end, the middle or the right end of both, ``y`` the bar's lower edge, mm.
        """
        from matplotlib.patches import Rectangle

        length = round_step(longest / scale)
        wide = length * scale
        words = f"{length:g} mm{', ' if what else ''}{what}"
        whole = wide + 1.5 + self.extent(self.figure.text(0, 0, words, fontsize=TYPE,
                                                          parse_math=False)).width
        self.figure.texts[-1].remove()
        x -= {"left": 0.0, "center": whole / 2, "right": whole}[across]
        for low, high, kind in ((0.0, 0.5, "ink"), (0.5, 1.0, "paper")):
            self.figure.add_artist(Rectangle(
                ((x + low * wide) / self.width, y / self.height),
                (high - low) * wide / self.width, 0.9 / self.height,
                transform=self.figure.transFigure, facecolor=getattr(self.colours, kind),
                edgecolor=self.colours.ink, linewidth=0.6, zorder=45))
        self.text(x + wide + 1.5, y - 0.5, words)

    def bytes(self, style: Style, title: str, says: str = "") -> bytes:
        """The picture's bytes, the same for the same picture: no dates, fixed identifiers.

        ``says``, what it shows in words, goes into the file as its description, and into a PNG a
        sum of ``source`` and of every word on it, by which a stale picture is known.
        """
        colours = self.colours
        return _bytes(self.figure, style, title, says, self.sum_of(says),
                      (colours.paper, colours.stock, colours.deep, colours.rapid))

    def sum_of(self, says: str) -> str:
        """SHA-256 of what was drawn from and of all words on the board."""
        words = "\n".join((self.source, says, *(text.get_text() for text in self.texts)))
        return hashlib.sha256(words.encode()).hexdigest()


def new_board(width: float, height: float, colours: Palette, language: str = "en") -> Board:
    """An empty board of ``width`` by ``height`` mm, to be lettered in ``language``."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width / 25.4, height / 25.4), dpi=DOTS_PER_INCH,
                    facecolor=colours.paper)
    FigureCanvasAgg(figure)
    return Board(figure, width, height, colours, say=words(language))


def _bytes(figure: Figure, style: Style, title: str, says: str, source: str,
           exact: Sequence[str]) -> bytes:
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    out = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "camgen", "svg.fonttype": "path",
                                "hatch.linewidth": 0.6}):
        if style == "png":
            from PIL import Image
            from PIL.PngImagePlugin import PngInfo

            words = PngInfo()
            words.add_itxt("Title", title)
            words.add_itxt("Description", says)
            words.add_itxt("Source", source)
            canvas: Any = FigureCanvasAgg(figure)
            canvas.draw()
            whole = Image.fromarray(_opaque(canvas))
            small = whole.quantize(colors=64, method=Image.Quantize.FASTOCTREE,
                                   dither=Image.Dither.NONE)
            _exact(small, exact)
            small.save(out, format="PNG", compress_level=7, pnginfo=words,
                       dpi=(DOTS_PER_INCH, DOTS_PER_INCH))
        elif style == "svg":
            figure.savefig(out, format="svg", metadata={
                "Date": None, "Creator": None, "Title": title, "Description": says})
        else:
            figure.savefig(out, format="pdf", metadata={"CreationDate": None, "Creator": None,
                                                        "Producer": None, "Title": title,
                                                        "Subject": says})
    return out.getvalue()


def _exact(picture: Any, colours: Sequence[str]) -> None:
    """Put colours that fill areas in place of the nearest ones that the few colours gave."""
    table = picture.getpalette()
    for colour in colours:
        wanted = [int(colour[at:at + 2], 16) for at in (1, 3, 5)]
        nearest = min(range(0, len(table), 3),
                      key=lambda at, wanted=wanted: sum(  # type: ignore[misc]
                          abs(table[at + k] - wanted[k]) for k in range(3)))
        if sum(abs(table[nearest + k] - wanted[k]) for k in range(3)) < 40:
            table[nearest:nearest + 3] = wanted
    picture.putpalette(table)


def _opaque(canvas: Any) -> Any:
    """The drawn canvas as an array (h, w, 3)."""
    import numpy as np

    return np.ascontiguousarray(np.asarray(canvas.buffer_rgba())[:, :, :3])


def cut_text(words: str, longest: int) -> str:
    """Words cut in the middle, where names differ least, to at most ``longest`` letters.

    >>> cut_text("third-wheel-blanks.nc", 15)
    'third-w…anks.nc'
    >>> cut_text("short", 15)
    'short'
    """
    if len(words) <= longest:
        return words
    keep = max(longest - 1, 2)
    tail = keep // 2
    return f"{words[:keep - tail]}…{words[len(words) - tail:]}"


def round_step(most: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is not more than ``most``, in its unit.

    >>> round_step(7.3), round_step(0.23), round_step(10.0)
    (5.0, 0.2, 10.0)
    """
    import math

    power = 10.0 ** math.floor(math.log10(most) + 1e-9)
    share = max(step for step in (1.0, 2.0, 5.0) if step * power <= most * (1 + 1e-9))
    return float(f"{share * power:.6g}")


def rows_of(widths: Iterable[float], most: float) -> list[list[int]]:
    """Things of given widths put into rows no wider than ``most``.

    >>> rows_of([3, 4, 5, 2], 8)
    [[0, 1], [2, 3]]
    """
    rows: list[list[int]] = []
    used = most
    for place, width in enumerate(widths):
        if used + width > most:
            rows.append([])
            used = 0.0
        rows[-1].append(place)
        used += width
    return rows
