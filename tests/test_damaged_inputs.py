"""Damaged input of six kinds: each is understood or refused in words, soon, within bounds."""

from __future__ import annotations

import os
import random
import sys
from pathlib import Path

import pytest
from damage import kinds, workers
from damage.grammar import changed_tokens, changed_yaml, spans_of
from damage.kinds import KINDS
from damage.workers import answers
from sampling import sampled

from camgen.faults import Refused
from camgen.shipped import demo_jobs, shipped_folder

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="bounds are set as on Linux")
# Archives are also cut off in the middle and programs damaged deeply: there is always some of each.
SAMPLE = 12


@pytest.mark.parametrize("kind", sampled(KINDS, 1))
def test_damaged_input_is_answered_in_words(kind: str) -> None:
    found = answers(kind, 0, SAMPLE)
    assert found.faults == ()
    assert found.answers.total() == SAMPLE
    # Were all refused, the damage would be too coarse to come far in.
    assert found.answers["understood"] + found.answers["unproved"] > 1
    assert found.answers["refused"] + found.answers["unproved"] > 1


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_very_many_damaged_inputs_are_answered_in_words(kind: str) -> None:
    many = int(os.environ.get("CAMGEN_DAMAGED", "100000")) // len(KINDS)
    for first in range(0, many, 500):
        assert answers(kind, 1000 + first, min(500, many - first)).faults == ()


def a_fault(chance: random.Random, folder: Path) -> str:
    raise KeyError("a slip")


def without_end(chance: random.Random, folder: Path) -> str:
    while True:
        pass


def too_much(chance: random.Random, folder: Path) -> str:
    return str(len(bytearray(1_800_000_000)))


def not_a_word(chance: random.Random, folder: Path) -> str:
    raise Refused([])


def an_end(chance: random.Random, folder: Path) -> str:
    os._exit(3)


@pytest.mark.parametrize(("kind", "says"), [
    (a_fault, "a slip"), (without_end, "not over after"), (too_much, "memory"),
    (not_a_word, "without a word"), (an_end, "came to an end"),
])
def test_every_way_to_fail_is_found_and_the_next_input_is_tried(
    kind: kinds.Kind, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def once(chance: random.Random, folder: Path) -> str:
        return kind(chance, folder) if chance.random() == random.Random(4).random() else "refused"

    monkeypatch.setitem(KINDS, "planted", once)
    monkeypatch.setattr(workers, "LONGEST", 0.2)
    found = answers("planted", 3, 3)
    assert found.answers.total() == 3
    assert found.answers["refused"] >= 2 - (kind is not_a_word)
    assert len(found.faults) == 1
    assert says in found.faults[0]
    assert found.faults[0].startswith("planted 4:")


@pytest.mark.parametrize("path", [
    *demo_jobs(), *sorted(shipped_folder("postprocessors").glob("*.yaml"))], ids=lambda p: p.stem)
def test_where_words_begin_and_end_is_known(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    spans = spans_of(text)
    assert len(spans) > 20
    for span in spans:
        if span.key != (0, 0):
            assert text[span.key[1]:span.begin].strip().startswith(":")
        if span.sort == "number":
            float(text[span.begin:span.end])
    assert sum(changed_yaml(text, random.Random(seed)) != text for seed in range(50)) > 45


def test_tokens_change_in_every_way() -> None:
    row = ["G1", "X1.", "Y2.", "F100."]
    found = {tuple(changed_tokens(row, random.Random(seed), ["nan"])) for seed in range(200)}
    assert len(found) > 100
    assert any(len(one) < len(row) for one in found)
    assert any(len(one) > len(row) for one in found)
    assert any("nan" in "".join(one) for one in found)
