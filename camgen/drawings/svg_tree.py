"""The elements of an SVG file, read so that no file can do harm.

Entities are refused, nothing outside the file is fetched, and depth and number are bounded.
"""

from __future__ import annotations

from dataclasses import field
from xml.parsers import expat

from camgen.faults import Fault, Place, Refused
from camgen.messages import Message
from camgen.values import dataclass

__all__ = ["SVG", "Element", "read_tree"]

SVG = "http://www.w3.org/2000/svg"
MOST_ELEMENTS = 50_000
DEEPEST = 100


@dataclass(slots=True)
class Element:
    """One element: its name (with its vocabulary before a space), attributes, children, line."""

    name: str
    attributes: dict[str, str]
    line: int
    children: list[Element] = field(default_factory=list)

    @property
    def word(self) -> str:
        """The plain name of an element of SVG, else an empty string."""
        vocabulary, _, word = self.name.rpartition(" ")
        return word if vocabulary in ("", SVG) else ""


def read_tree(data: bytes, file: str) -> Element:
    """The root element. Raises Refused when the bytes are no XML or carry what is not taken.

    >>> read_tree(b"<svg><g id='plate'/></svg>", "plate.svg").children[0].attributes
    {'id': 'plate'}
    """
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    building = _Building(parser, file)
    parser.StartElementHandler = building.begin
    parser.EndElementHandler = building.end
    parser.StartDoctypeDeclHandler = building.doctype
    parser.EntityDeclHandler = building.entity
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        said = expat.ErrorString(error.code)
        raise Refused(Fault(
            Message("this cannot be read as XML ({said})", said=said),
            Message("write it anew from the drawing program"),
            Place(file, error.lineno, error.offset + 1),
        )) from None
    except (ValueError, LookupError) as error:  # an encoding that nobody knows, or a broken one
        raise Refused(Fault(Message("this cannot be read as XML ({said})", said=str(error)),
                            Message("save it as UTF-8"), Place(file))) from None
    assert building.root is not None
    return building.root


class _Building:
    def __init__(self, parser: expat.XMLParserType, file: str) -> None:
        self.parser = parser
        self.file = file
        self.root: Element | None = None
        self.open: list[Element] = []
        self.count = 0

    def _refuse(self, message: Message, remedy: Message) -> Refused:
        return Refused(
            Fault(message, remedy, Place(self.file, self.parser.CurrentLineNumber))
        )

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        """Open an element."""
        self.count += 1
        if self.count > MOST_ELEMENTS or len(self.open) >= DEEPEST:
            raise self._refuse(
                Message("the drawing has more than {most} elements, or they lie more than {deep} "
                        "deep", most=MOST_ELEMENTS, deep=DEEPEST),
                Message("leave only the outlines in it"),
            )
        element = Element(name, attributes, self.parser.CurrentLineNumber)
        if self.open:
            self.open[-1].children.append(element)
        else:
            self.root = element
        self.open.append(element)

    def end(self, _name: str) -> None:
        """Close the innermost element."""
        self.open.pop()

    def doctype(self, _name: str, _system: str | None, _public: str | None, own: int) -> None:
        """A document type is passed over, one with declarations of its own refused."""
        if own:
            raise self._refuse(Message("the file declares things of its own in its DOCTYPE"),
                               Message("save it as plain SVG"))

    def entity(self, *_declared: object) -> None:
        """No entities: they can make a small file grow without end, or reach out of it."""
        raise self._refuse(Message("the file declares entities"),
                           Message("save it as plain SVG"))
