"""What is said to people, in one catalogue: a file for each language.

The sheet's own texts are asked for by section and key. What other rooms say is said by them in
English, where it is easiest to read beside the code that says it; in another language the sentence
is recognised by its form and said again with the same figures (:meth:`Words.said`).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import yaml

from camgen.faults import Fault, Refused, nearest
from camgen.messages import Message

__all__ = ["Words", "languages", "program_words", "words"]

_FOLDER = Path(__file__).resolve().parent / "texts"


class Words:
    """Texts by section and key, with ``{fields}`` filled in."""

    def __init__(self, language: str, catalogue: str) -> None:
        """``catalogue``: YAML, each section begun by its name at the start of a line.

        A section is read when it is first asked for: a command needs few of them.
        """
        self.language = language
        parts = re.split(r"^(\S+):\n", catalogue, flags=re.MULTILINE)
        self._unread: dict[str, str] = dict(zip(parts[1::2], parts[2::2], strict=True))
        self._texts: dict[str, dict[str, Any]] = {}
        self._forms: dict[str, list[tuple[re.Pattern[str], str]]] = {}
        self._said: dict[tuple[str, str], str] = {}

    def __call__(self, section: str, key: str, **fields: object) -> str:
        """The text of ``key``; a key that the catalogue lacks is itself the text."""
        text = self._section(section).get(key)
        if text is None:
            return key
        return str(text.format(**fields) if fields else text)

    def say(self, text: str, section: str = "messages") -> str:
        """A message in this language, and any other text as it is.

        A section that says some messages in its own way, such as ``program``, comes before what is
        said of them elsewhere; a message's context is the section that it stands in.

        >>> from camgen.messages import Message
        >>> words("de").say(Message("drill")), words("de").say("turn the lamp on")
        ('Bohren', 'turn the lamp on')
        """
        if not isinstance(text, Message):
            return text
        return text.said(lambda message: self._template(message, section))

    def _template(self, message: Message, section: str) -> str | None:
        for name in (message.context or section, "messages"):
            found = self._section(name).get(message.template)
            if found is not None:
                return found if isinstance(found, str) else found[self._plural(message.fields["n"])]
        return None

    @property
    def spelt_out(self) -> dict[str, str]:
        """Letters that a program, which has plain ones only, spells in another way."""
        return dict(self._section("language")["spelt-out"])

    @cached_property
    def _plural(self) -> Callable[[int], int]:
        """Which of a message's forms a number takes, as gettext's catalogues say it."""
        from gettext import c2py  # only wanted where a message has several forms

        return c2py(self._section("language")["plural"])

    def said(self, sentence: str, section: str = "sentences") -> str:
        """An English sentence in this language; one that the catalogue lacks stays as it is.

        Figures and names are carried over; what stands in a field is itself said in this language
        where the catalogue knows it. Capitals make no difference.

        >>> words("de").said("bore: climb milling")
        'Ausfräsen: Gleichlauf'
        >>> words("de").said("turn the lamp on")
        'turn the lamp on'
        """
        if isinstance(sentence, Message):
            return self.say(sentence, "messages" if section == "sentences" else section)
        known = self._said.get((section, sentence))
        if known is None:
            known = self._said[section, sentence] = self._say_again(sentence, section)
        return known

    def knows(self, sentence: str, section: str = "sentences") -> bool:
        """Whether an English sentence has its form in the catalogue."""
        return any(form.fullmatch(sentence) for form, _ in self._forms_of(section))

    def _say_again(self, sentence: str, section: str) -> str:
        for form, text in self._forms_of(section):
            found = form.fullmatch(sentence)
            if found is not None:
                return text.format(**{
                    name: self.said(value, section) for name, value in found.groupdict().items()})
        return sentence

    def _forms_of(self, section: str) -> list[tuple[re.Pattern[str], str]]:
        if section not in self._forms:
            # The form that says most in its own words is tried first.
            texts = sorted(self._section(section).items(),
                           key=lambda pair: -len(re.sub(r"{\w+}", "", pair[0])))
            self._forms[section] = [(_form(english), text) for english, text in texts]
        return self._forms[section]

    def sections(self) -> dict[str, dict[str, str]]:
        """All texts, for whoever wants to compare catalogues."""
        return {name: self._section(name) for name in self._unread}

    def _section(self, name: str) -> dict[str, Any]:
        if name not in self._texts:
            loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
            self._texts[name] = yaml.load(self._unread.get(name, ""), Loader=loader) or {}
        return self._texts[name]


def _form(english: str) -> re.Pattern[str]:
    """What recognises a sentence; a field whose name begins with ``n`` holds a figure.

    >>> _form("STEP {n} {title}").fullmatch("STEP 3 cross out").groupdict()
    {'n': '3', 'title': 'cross out'}
    """
    parts = re.split(r"{(\w+)}", english)
    pattern = "".join(
        re.escape(part) if place % 2 == 0
        else f"(?P<{part}>[-+0-9.]+)" if part[0] == "n" else f"(?P<{part}>.+?)"
        for place, part in enumerate(parts))
    return re.compile(pattern, re.IGNORECASE)


def languages() -> tuple[str, ...]:
    """Languages that have a catalogue, as ISO 639-1 codes.

    >>> "en" in languages()
    True
    """
    return tuple(sorted(file.stem for file in _FOLDER.glob("*.yaml")))


@lru_cache(maxsize=4)
def words(language: str = "en") -> Words:
    """The catalogue of ``language``.

    Raises Refused when there is none.

    >>> words("en")("measures", "bore")
    'Bore'
    """
    file = _FOLDER / f"{language}.yaml"
    if not file.is_file() or file.parent != _FOLDER:
        known = languages()
        near = nearest(language, known)
        raise Refused(Fault(
            f"no texts in language {language!r}",
            f"did you mean {near!r}?" if near else "languages: " + ", ".join(known),
        ))
    return Words(language, file.read_text(encoding="utf-8"))


def program_words(language: str = "en") -> Callable[[str], str] | None:
    """What says a program's comments and messages in ``language``; None where they stay as said.

    Raises Refused when there are no texts in it.

    >>> say = program_words("de")
    >>> say("MEASURE A TOOTH: 0.220 THICK AT 0.226 BELOW THE TIP"), say("Rad für Gerät 2")
    ('EINEN ZAHN MESSEN: 0.220 DICK, 0.226 UNTER DEM KOPF', 'Rad fuer Geraet 2')
    """
    if language == "en":
        return None
    catalogue = words(language)

    spelt_out = catalogue.spelt_out

    def say(text: str) -> str:
        told = catalogue.said(text, "program")
        for letter, spelt in spelt_out.items():
            told = told.replace(letter, spelt)
        return told

    return say
