"""What kinds of steps say of themselves: each says something, and nobody asks its name."""

from __future__ import annotations

from typing import ClassVar

import pytest

from camgen.job.models import StepWords
from camgen.part.declaration import Declaration, MakesFace
from camgen.shop.cutters import Ability
from camgen.steps import STEPS


def test_a_kind_that_declares_nothing_fails_when_it_is_made() -> None:
    with pytest.raises(TypeError, match="the step polish does not declare what it makes"):
        class Polish(StepWords):
            kind: ClassVar[str] = "polish"

    class AlongWalls(StepWords):
        """Not a kind yet: what several kinds share."""

    with pytest.raises(TypeError, match="the step trim does not declare"):
        class Trim(AlongWalls):
            kind: ClassVar[str] = "trim"


def test_a_step_that_makes_nothing_is_none() -> None:
    with pytest.raises(ValueError, match="must declare what it makes"):
        Declaration((), (Ability.DRILL,))
    with pytest.raises(ValueError, match="by which cutters"):
        Declaration((MakesFace(),), ())


def test_every_kind_has_a_declaration_of_its_own() -> None:
    for kind in STEPS.values():
        assert kind.words.declares is not StepWords.declares
        assert kind.kind == kind.words.kind
