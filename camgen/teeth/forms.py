"""The register of tooth forms, and from the words of a job or a cutter to a tooth.

A form added is one module beside this one and its entry in :data:`FORMS`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from camgen.messages import Message
from camgen.teeth.form import Asked, OwnWord, Teeth, ToothedPart, ToothForm
from camgen.teeth.outlines import club, cycloidal, escape, involute, ratchet
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["FORMS", "FormWords", "cut_by", "form_cut_by", "form_named", "pinion_tooth", "teeth_of",
           "tooth_made_for", "wheel_tooth", "whose", "words_of_cutters", "words_of_part"]

# The first is what a part has where nothing is said.
FORMS: tuple[ToothForm, ...] = (cycloidal.FORM, involute.FORM, ratchet.FORM,
                                escape.POINTED, club.CLUB)


@dataclass(frozen=True)
class FormWords:
    """What a model takes from the register: the names of the forms it can say, and their words."""

    names: tuple[str, ...]
    words: tuple[OwnWord[Any], ...]
    of_cutter: bool


def _words(teeth: Iterable[Teeth]) -> tuple[OwnWord[Any], ...]:
    """Each word once. Raises ValueError where two forms mean different things by one."""
    found: dict[str, OwnWord[Any]] = {}
    for one in teeth:
        for word in one.words:
            if found.setdefault(word.name, word) != word:
                raise ValueError(f"two tooth forms have a word {word.name}, and not the same one")
    return tuple(found.values())


def words_of_part(part: ToothedPart) -> FormWords:
    """Forms and own words that ``part`` can have in a job.

    >>> words_of_part(ToothedPart.PINION).names
    ('cycloidal', 'involute')
    """
    able = [(form.name, teeth) for form in FORMS if (teeth := form.of(part)) is not None]
    return FormWords(tuple(name for name, _ in able), _words(teeth for _, teeth in able), False)


def words_of_cutters() -> FormWords:
    """Forms and own words of ``made-for``.

    >>> {"back", "depth"} <= {word.name for word in words_of_cutters().words}
    True
    """
    every = [teeth for form in FORMS for teeth in form.teeth]
    return FormWords(tuple(dict.fromkeys(one.made_for for one in every)), _words(every), True)


def whose(part: ToothedPart, word: OwnWord[Any]) -> list[Message]:
    """Whose a word is, among the forms that ``part`` can have.

    >>> whose(ToothedPart.PINION, involute.PRESSURE_ANGLE)
    ['involute leaves']
    """
    return [teeth.whose for form in FORMS
            if (teeth := form.of(part)) is not None and word in teeth.words]


def form_named(name: str) -> ToothForm:
    """The form a job calls ``name``; ValueError for others."""
    for form in FORMS:
        if form.name == name:
            return form
    raise ValueError(f"no tooth form is called {name}; known are "
                     f"{', '.join(form.name for form in FORMS)}")


def teeth_of(name: str, part: ToothedPart) -> Teeth:
    """The form ``name`` as ``part`` has it; ValueError where it cannot."""
    teeth = form_named(name).of(part)
    if teeth is None:
        raise ValueError(f"a {part.value} cannot have {name} teeth")
    return teeth


def cut_by(made_for: str) -> Teeth:
    """The teeth that a cutter with this ``made-for`` leaves; ValueError for unknown ones.

    Where wheels and pinions have the same teeth, those of wheels.
    """
    return next(teeth for teeth in form_cut_by(made_for).teeth if teeth.made_for == made_for)


def form_cut_by(made_for: str) -> ToothForm:
    """The form that a cutter with this ``made-for`` cuts, which is a tooth's ``form`` too.

    ValueError for unknown ones.
    """
    for form in FORMS:
        if any(teeth.made_for == made_for for teeth in form.teeth):
            return form
    raise ValueError(f"no cutter is made for {made_for}")


def wheel_tooth(
    form: str, teeth: int, module: float, mate: int | None = None, **own: Any
) -> Tooth:
    """A wheel's tooth; ``module`` mm, ``mate`` leaves of the pinion it drives, words of its form.

    Words of other forms are passed over. Raises Refused where the tooth cannot be, and ValueError
    for a form that wheels have not.

    >>> round(wheel_tooth("cycloidal", 75, 0.14, 10).sizes.pitch_diameter, 6)
    10.5
    """
    return teeth_of(form, ToothedPart.WHEEL).build(Asked(teeth, module, mate, own))


def pinion_tooth(form: str, leaves: int, module: float, mate: int | None, **own: Any) -> Tooth:
    """A pinion's leaf; ``mate`` are the teeth of the wheel that drives it, ``module`` mm.

    Words of other forms are passed over. Raises Refused where the leaf cannot be, and ValueError
    for a form that pinions have not.

    >>> pinion_tooth("cycloidal", 10, 0.12, 75).form
    'cycloidal-pinion'
    """
    return teeth_of(form, ToothedPart.PINION).build(Asked(leaves, module, mate, own))


def tooth_made_for(
    made_for: str, teeth: int, module: float, mate: int | None, own: Mapping[str, Any]
) -> Tooth:
    """The tooth beside the space that a form cutter of the ``module`` mm leaves on its wheel.

    Raises Refused where the cutter's words do not make a tooth.

    >>> tooth_made_for("ratchet", 30, 0.2, None, {"depth": 0.3}).sizes.root_diameter
    5.4
    """
    return cut_by(made_for).build(Asked(teeth, module, mate, own))
