"""The sheet's texts in one catalogue, a file for each language."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import yaml

from camgen.faults import Fault, Refused, nearest

__all__ = ["Words", "languages", "words"]

_FOLDER = Path(__file__).resolve().parent / "texts"


class Words:
    """Texts by section and key, with ``{fields}`` filled in."""

    def __init__(self, language: str, texts: dict[str, dict[str, str]]) -> None:
        self.language = language
        self._texts = texts

    def __call__(self, section: str, key: str, **fields: object) -> str:
        """The text of ``key``; a key that the catalogue lacks is itself the text."""
        text = self._texts.get(section, {}).get(key)
        if text is None:
            return key
        return text.format(**fields) if fields else text

    def sections(self) -> dict[str, dict[str, str]]:
        """All texts, for whoever wants to compare catalogues."""
        return self._texts


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
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    texts = yaml.load(file.read_text(encoding="utf-8"), Loader=loader)
    return Words(language, texts)
