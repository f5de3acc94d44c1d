"""What is said to people, in one catalogue: a file for each language.

The sheet's own texts are asked for by section and key. What other rooms say are messages, written
in English beside the code that says them (``camgen.messages``); in another language their template
is looked up here and filled after (:meth:`Words.say`). Catalogues are YAML as all other files of
the workshop, so that a language stays one file that anybody may edit, and a section is read only
when it is asked for; number forms are told as in gettext's catalogues, and read by its rule.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import yaml

from camgen.faults import Fault, Refused, did_you_mean
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
        # What only programs say is said elsewhere as they have it.
        for name in (message.context or section, "messages", "program"):
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

    def sections(self) -> dict[str, dict[str, str]]:
        """All texts, for whoever wants to compare catalogues."""
        return {name: self._section(name) for name in self._unread}

    def _section(self, name: str) -> dict[str, Any]:
        if name not in self._texts:
            self._texts[name] = _texts(self._unread.get(name, ""))
        return self._texts[name]


def _texts(section: str) -> dict[str, Any]:
    """The texts of one section.

    Lines that all are in quotes are JSON once braces are put round them (YAML 1.2 holds it), and
    of thousands of messages that is read several times as fast.

    >>> _texts('  # tools\\n  "drill": "Bohrer"\\n'), _texts("  drill: Bohrer")
    ({'drill': 'Bohrer'}, {'drill': 'Bohrer'})
    """
    lines = (line for line in section.split("\n") if line and not line.lstrip().startswith("#"))
    try:
        found: dict[str, Any] = json.loads("{" + ",".join(lines) + "}")
    except ValueError:
        loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
        found = yaml.load(section, Loader=loader) or {}
    return found


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
        raise Refused(Fault(
            Message("no texts in language '{language}'", language=language),
            did_you_mean(language, known, Message("languages: {known}", known=known))))
    return Words(language, file.read_text(encoding="utf-8"))


def program_words(language: str = "en") -> Callable[[str], str] | None:
    """What says a program's comments and messages in ``language``; None where they stay as said.

    Raises Refused when there are no texts in it.

    >>> say = program_words("de")
    >>> say(Message("STEP {number} {title}", number=3, title=Message("drill")))
    'ARBEITSGANG 3 BOHREN'
    >>> say("Rad für Gerät 2")
    'Rad fuer Geraet 2'
    """
    if language == "en":
        return None
    catalogue = words(language)

    spelt_out = catalogue.spelt_out

    def say(text: str) -> str:
        told = catalogue.say(text, "program")
        for letter, spelt in spelt_out.items():
            told = told.replace(letter, spelt)
        return told

    return say
