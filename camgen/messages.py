"""What is said to people, as data: a template and what fills it.

A sentence is written once, in English, as a template with named fields. In another language the
template is looked up in that language's catalogue and filled after, so that nothing ever has to be
recognised in a finished sentence. That is the way of gettext's catalogues; number forms are theirs
too (GNU gettext manual, "Plural forms").

A :class:`Message` is a string, its English: whoever only shows it need not know what it is, and
whoever asks for one is given no sentence that was put together by hand. Templates are literal in
the code, so that a test finds every one and holds the catalogues against them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NoReturn

__all__ = ["NOTHING", "LookUp", "Message", "counted", "tabled", "verbatim"]

LookUp = Callable[["Message"], "str | None"]
"""Gives a message's template in another language; None where the catalogue lacks it."""


class Message(str):
    """A sentence in English that can be said in other languages.

    ``template`` names its ``fields`` in braces, with their formats; a field is a number, a name, a
    message itself, or a tuple of these, said with commas between. ``context`` is the section of
    the catalogues for a word that means several things; ``many`` is the template for any number
    ``n`` but one; without ``filled`` names in braces stay, for others to fill.

    >>> said = Message("{title}: {n:.1f} mm deep", title=Message("bore"), n=0.4)
    >>> said
    'bore: 0.4 mm deep'
    >>> german = {"bore": "Ausfräsen", "{title}: {n:.1f} mm deep": "{title}, Tiefe {n:.1f} mm"}
    >>> said.said(lambda one: german.get(one.template))
    'Ausfräsen, Tiefe 0.4 mm'
    """

    __slots__ = ("context", "fields", "filled", "many", "template")

    template: str
    fields: dict[str, Any]
    context: str
    many: str
    filled: bool

    def __new__(cls, template: str, context: str = "", /, **fields: object) -> Message:
        return _made(template, "", context, fields)

    def said(self, look_up: LookUp) -> str:
        """In another language, as far as its catalogue goes."""
        template = look_up(self)
        if template is None:
            template = self._english()
        return _fill(template, self.fields, look_up) if self.filled else template

    def _english(self) -> str:
        return self.many if self.many and self.fields["n"] != 1 else self.template

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError(f"a message is not changed: {name}")

    def __reduce__(self) -> tuple[Any, ...]:
        return _made, (self.template, self.many, self.context, self.fields, self.filled)


def counted(one: str, many: str, n: float, /, **fields: object) -> Message:
    """A message that hangs on the number ``n``, of whatever units, a field of both templates.

    >>> counted("{n} hole", "{n} holes", 1), counted("{n} hole", "{n} holes", 12)
    ('1 hole', '12 holes')
    """
    return _made(one, many, "", {"n": n, **fields})


def verbatim(template: str) -> Message:
    """A template whose names others fill in, such as those of a machine file's messages.

    >>> verbatim("SPACE {space}").said(lambda one: {"SPACE {space}": "ESPACE {space}"}[one])
    'ESPACE {space}'
    """
    return _made(template, "", "", {}, filled=False)


def tabled(text: str, section: str) -> Message:
    """What a table of the workshop says, such as a title; its section of the catalogues has it.

    >>> tabled("nickel silver", "materials").said({"nickel silver": "Neusilber"}.get)
    'Neusilber'
    """
    return _made(text, "", section, {}, filled=False)


def _made(
    template: str, many: str, context: str, fields: dict[str, Any], filled: bool = True
) -> Message:
    english = many if many and fields["n"] != 1 else template
    new = str.__new__(Message, _fill(english, fields, None) if filled else english)
    _set_template(new, template)
    _set_many(new, many)
    _set_context(new, context)
    _set_fields(new, fields)
    _set_filled(new, filled)
    return new


# A foreign program may have a hundred thousand findings: its slots are set the quickest way.
_set_template, _set_many, _set_context, _set_fields, _set_filled = (
    vars(Message)[name].__set__ for name in ("template", "many", "context", "fields", "filled"))


def _fill(template: str, fields: dict[str, Any], look_up: LookUp | None) -> str:
    if not fields:
        return template
    if look_up is None and tuple not in map(type, fields.values()):
        return template.format(**fields)
    return template.format(**{name: _said(value, look_up) for name, value in fields.items()})


def _said(value: Any, look_up: LookUp | None) -> Any:
    if isinstance(value, Message):
        return str(value) if look_up is None else value.said(look_up)
    if isinstance(value, tuple):
        return ", ".join(str(_said(one, look_up)) for one in value)
    return value


NOTHING = verbatim("")
