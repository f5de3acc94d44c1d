"""What of a wheel stands higher than its web: hub and pipe on the upper face; and a stepped bore.

Round the hub the stock is taken down to the web, over the edge of the blank: a pocket, called
``web`` in steps, of which the hub is an island. Round a pipe on a hub it is taken down to the top
of that: another, called ``hub``. Lengths mm once read; as of any pocket, depths
count from the upper face, which here is the top of what stands highest.
"""

from collections.abc import Iterator, Mapping, Sequence

from pydantic import Field

from camgen.part.features import Hole, Recess
from camgen.shapes.offset import Area
from camgen.shapes.path import Path, Point, circle
from camgen.shop.model import FileModel, Length

__all__ = ["BORE_COUNTERBORE", "ON_HUB", "WEB", "Hub", "HubWords", "Pipe", "Seat", "open_to"]

# The names in steps of what is cleared round the hub and round a pipe on it, and of the wider mouth
# of the bore.
WEB, ON_HUB, BORE_COUNTERBORE = "web", "hub", "bore-counterbore"
# The clearing goes so far over the edge of the blank, mm: by a hair it would be no open side.
OVER = 0.5
MIDDLE = Point(0.0, 0.0)


class Hub(FileModel):
    """The hub, where it is thicker than the web."""

    diameter: Length = Field(description="its diameter")
    thickness: Length = Field(
        description="from the under face of the wheel to the top of the hub, more than the web's"
    )


class Pipe(FileModel):
    """A pipe on the hub, or on the web where there is no thicker hub."""

    diameter: Length = Field(description="its outside diameter")
    length: Length = Field(description="how far it stands out of the hub, or of the web")


class Seat(FileModel):
    """The wider part of a stepped bore, with a flat floor."""

    diameter: Length = Field(description="its diameter")
    depth: Length = Field(description="below the upper face: the top of hub or pipe, if any")


class HubWords(FileModel):
    """The words of a wheel for what stands above its web, and for the mouth of its bore."""

    hub: Hub | None = Field(None, description="a hub thicker than the web, on the upper face")
    pipe: Pipe | None = Field(None, description="a pipe standing out of the upper face")
    counterbore: Seat | None = Field(
        None, description="a wider mouth of the bore at the upper face, called bore-counterbore "
        "in steps")

    def steps_up(self, web: float) -> tuple[tuple[float, float], ...]:
        """Diameter and top above the under face of hub and pipe, the wider first.

        ``web`` is the thickness of the wheel beside them.
        """
        hub = ((self.hub.diameter, self.hub.thickness),) if self.hub is not None else ()
        top = self.hub.thickness if self.hub is not None else web
        return (*hub, *(((self.pipe.diameter, top + self.pipe.length),)
                        if self.pipe is not None else ()))

    def height_over(self, web: float) -> float:
        """The whole thickness of the wheel from its under face."""
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

    def raised_features(self, part: str, web: float, tip: float) -> Iterator[Recess | Hole]:
        """The floors round hub and pipe, and the wider mouth of the bore; ``tip`` a radius."""
        raised = self.steps_up(web)
        whole = self.height_over(web)
        for number, (diameter, _) in reversed(list(enumerate(raised))):
            floor = raised[number - 1][1] if number else web
            name = ON_HUB if number else WEB
            word = "hub" if number == 0 and self.hub is not None else "pipe"
            yield Recess(name, open_to(tip, (circle(MIDDLE, diameter / 2),)), whole - floor, name,
                         0.0, "upper", (part, word), ("hub",))
        if self.counterbore is not None:
            yield Hole(BORE_COUNTERBORE, MIDDLE, self.counterbore.diameter, BORE_COUNTERBORE,
                       self.counterbore.depth, at=(part, "counterbore"), elsewhere=("bore",))

    @property
    def mouth(self) -> Seat | None:
        """The wider mouth of the bore, where it has one."""
        return self.counterbore

    @property
    def raised_sizes(self) -> Mapping[str, float]:
        """What is measured of them across, mm, by name."""
        found = {"bore-counterbore": self.counterbore.diameter} if self.counterbore else {}
        if self.hub is not None:
            found["raised-hub"] = self.hub.diameter
        if self.pipe is not None:
            found["pipe"] = self.pipe.diameter
        return found


def open_to(radius: float, islands: Sequence[Path]) -> Area:
    """An area about the part's middle, its outer edge drawn beyond a blank of that ``radius``."""
    return Area.of(circle(MIDDLE, radius + OVER), islands)
