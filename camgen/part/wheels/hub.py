"""What of a wheel stands higher than its web: hub and pipe, on either face; and a stepped bore.

Round the hub the stock is taken down to the web, over the edge of the blank: a pocket, called
``web`` in steps, of which the hub is an island. Round a pipe on a hub it is taken down to the top
of that: another, called ``hub``. On the under face they are called ``web-under`` and
``hub-under``. Lengths mm once read; as of any pocket, depths count from the face, which here is
the top of what stands highest on it.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from pydantic import Field

from camgen.part.features import Hole, Recess
from camgen.part.plates.plate_words import Face
from camgen.shapes.offset import Area
from camgen.shapes.path import Path, Point, circle
from camgen.shop.model import FileModel, Length

__all__ = ["BORE_COUNTERBORE", "ON_HUB", "WEB", "Hub", "HubWords", "Pipe", "Raised", "Seat",
           "called_on", "cleared_on", "open_to"]

# The names in steps of what is cleared round the hub and round a pipe on it, and of the wider mouth
# of the bore.
WEB, ON_HUB, BORE_COUNTERBORE = "web", "hub", "bore-counterbore"
# What is added to them on the under face.
UNDER: Final = "-under"
# The clearing goes so far over the edge of the blank, mm: by a hair it would be no open side.
OVER = 0.5
MIDDLE = Point(0.0, 0.0)


class Hub(FileModel):
    """The hub, where it is thicker than the web."""

    diameter: Length = Field(description="its diameter")
    thickness: Length = Field(
        description="from the other face of the web to the top of the hub, more than the web's"
    )


class Pipe(FileModel):
    """A pipe on the hub, or on the web where there is no thicker hub."""

    diameter: Length = Field(description="its outside diameter")
    length: Length = Field(description="how far it stands out of the hub, or of the web")


class Seat(FileModel):
    """The wider part of a stepped bore, with a flat floor."""

    diameter: Length = Field(description="its diameter")
    depth: Length = Field(
        description="below the face that it is on: the top of hub or pipe, if any")


class Raised(FileModel):
    """What stands above the web on one face of a wheel, and the mouth of its bore there."""

    hub: Hub | None = Field(None, description="a hub thicker than the web, on this face")
    pipe: Pipe | None = Field(None, description="a pipe standing out of this face")
    counterbore: Seat | None = Field(
        None, description="a wider mouth of the bore at this face, called bore-counterbore "
        "in steps, on the under face bore-counterbore-under")

    def steps_up(self, web: float) -> tuple[tuple[float, float], ...]:
        """Diameter and top above the web's other face of hub and pipe, the wider first.

        ``web`` is the thickness of the wheel beside them.
        """
        hub = ((self.hub.diameter, self.hub.thickness),) if self.hub is not None else ()
        top = self.hub.thickness if self.hub is not None else web
        return (*hub, *(((self.pipe.diameter, top + self.pipe.length),)
                        if self.pipe is not None else ()))

    def height_over(self, web: float) -> float:
        """The whole thickness of the wheel from the web's other face."""
        return max((web, *(top for _, top in self.steps_up(web))))

    def raised_volume(self, web: float, bore: float) -> float:
        """What stands above the web less what the bore's mouth takes, mm³."""
        below, volume = web, 0.0
        for diameter, top in self.steps_up(web):
            volume += circle(MIDDLE, diameter / 2).area * (top - below)
            below = top
        hole = circle(MIDDLE, bore / 2).area
        volume -= hole * (below - web)
        if self.counterbore is not None:
            volume -= ((circle(MIDDLE, self.counterbore.diameter / 2).area - hole)
                       * self.counterbore.depth)
        return volume

    def features_on(
        self, face: Face, at: tuple[str, ...], web: float, tip: float
    ) -> Iterator[Recess | Hole]:
        """The floors round hub and pipe, and the wider mouth of the bore; ``tip`` a radius.

        ``at`` are the words in the job file that these stand under.
        """
        raised = self.steps_up(web)
        whole = self.height_over(web)
        for number, (diameter, _) in reversed(list(enumerate(raised))):
            floor = raised[number - 1][1] if number else web
            name = called_on(face, ON_HUB if number else WEB)
            word = "hub" if number == 0 and self.hub is not None else "pipe"
            yield Recess(name, open_to(tip, (circle(MIDDLE, diameter / 2),)), whole - floor, name,
                         0.0, face, (*at, word), ("hub",))
        if self.counterbore is not None:
            name = called_on(face, BORE_COUNTERBORE)
            yield Hole(name, MIDDLE, self.counterbore.diameter, name, self.counterbore.depth,
                       face=face, at=(*at, "counterbore"), elsewhere=("bore",))

    def sizes_on(self, face: Face) -> dict[str, float]:
        """What is measured of them across, mm, by name."""
        found = ({called_on(face, BORE_COUNTERBORE): self.counterbore.diameter}
                 if self.counterbore else {})
        if self.hub is not None:
            found[called_on(face, "raised-hub")] = self.hub.diameter
        if self.pipe is not None:
            found[called_on(face, "pipe")] = self.pipe.diameter
        return found


class HubWords(Raised):
    """The words of a wheel for what stands above its web, and for the mouth of its bore."""

    hub: Hub | None = Field(None, description="a hub thicker than the web, on the upper face")
    pipe: Pipe | None = Field(None, description="a pipe standing out of the upper face")
    counterbore: Seat | None = Field(
        None, description="a wider mouth of the bore at the upper face, called bore-counterbore "
        "in steps")
    under: Raised | None = Field(
        None, description="the same on the under face: hub, pipe and counterbore there, made in a "
        "setup with face: under")

    def sides(self) -> tuple[tuple[Face, tuple[str, ...], Raised], ...]:
        """Each face that has words, the words that lead there, and what it has."""
        below: tuple[tuple[Face, tuple[str, ...], Raised], ...] = (
            (("under", ("under",), self.under),) if self.under is not None else ())
        return (("upper", (), self), *below)

    def side(self, face: Face) -> Raised:
        """What one face has."""
        return next((has for on, _, has in self.sides() if on == face), Raised.usual())

    def raised_features(self, part: str, web: float, tip: float) -> Iterator[Recess | Hole]:
        """The floors round hub and pipe, and the wider mouths of the bore; ``tip`` a radius."""
        for face, words, has in self.sides():
            yield from has.features_on(face, (part, *words), web, tip)

    def whole_height(self, web: float) -> float:
        """From the top of what stands highest on one face to that on the other."""
        return web + sum(has.height_over(web) - web for _, _, has in self.sides())

    @property
    def raised_sizes(self) -> Mapping[str, float]:
        """What is measured of them across, mm, by name."""
        found: dict[str, float] = {}
        for face, _, has in self.sides():
            found |= has.sizes_on(face)
        return found


def called_on(face: Face, name: str) -> str:
    """What something of one face is called.

    >>> called_on("upper", WEB), called_on("under", WEB)
    ('web', 'web-under')
    """
    return name if face == "upper" else name + UNDER


def cleared_on(face: Face) -> tuple[str, str]:
    """What is cleared on a face, by name: about what stands widest, and about a pipe on a hub."""
    return called_on(face, WEB), called_on(face, ON_HUB)


def open_to(radius: float, islands: Sequence[Path]) -> Area:
    """An area about the part's middle, its outer edge drawn beyond a blank of that ``radius``."""
    return Area.of(circle(MIDDLE, radius + OVER), islands)
