"""German and French names of words, materials and cutters are answered by the English word."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

import camgen.words
from camgen.faults import Refused, nearest
from camgen.job.reading import read_job
from camgen.job.reference import word_entries
from camgen.job.schema import job_schema
from camgen.shop.cutters import RECORDS, find_cutter
from camgen.shop.materials import also_called, find_material, material_names
from camgen.steps import STEPS, step_words

TABLE: dict[str, list[str]] = yaml.safe_load(
    (Path(camgen.words.__file__).parent / "trade_names.yaml").read_text(encoding="utf-8"))
KNOWN = ({word for one in word_entries(job_schema(step_words())) for word in one.path}
         | {*RECORDS, *STEPS, "hss", "carbide", "diamond"}
         | {name for one in material_names() for name in (one, *also_called(one))})


def test_every_name_stands_for_one_word_that_there_is_and_is_none_itself() -> None:
    names = [name for names in TABLE.values() for name in names]
    assert len(names) == len(set(names))
    assert {english for english in TABLE if english not in KNOWN} == set()
    lower = {one.lower() for one in KNOWN}
    assert {name for name in names if name in lower} == set()
    assert all(name == "-".join(name.lower().split()) for name in names)


@pytest.mark.parametrize("english", TABLE)
def test_each_name_is_answered_by_its_word(english: str) -> None:
    for name in TABLE[english]:
        assert nearest(name, KNOWN) == english
        assert nearest(name.replace("-", " ").title(), KNOWN) == english
        # Where the word cannot stand, it is not offered.
        assert nearest(name, ["xyzzy"]) == ""


@pytest.mark.parametrize(("name", "english"), [("Messing", "brass"), ("Laiton", "brass"),
                                               ("acier à pignons", "pinion-steel")])
def test_a_material_is_answered_so(name: str, english: str) -> None:
    with pytest.raises(Refused, match=f"did you mean {english}"):
        find_material(name)


def test_a_cutter_is_answered_so() -> None:
    with pytest.raises(Refused, match="did you mean reamer"):
        find_cutter("Reibahle 1.2")


def test_a_job_is_answered_so(tmp_path: Path) -> None:
    job = tmp_path / "rad.yaml"
    job.write_text("auftrag: Rad\nmaterial: brass\n"
                   "roue: {zähne: 60, module: 0.2, thickness: 1, bore: 1}\n", encoding="utf-8")
    with pytest.raises(Refused) as refused:
        read_job(job, step_words())
    said = [str(fault) for fault in refused.value.faults]
    for name, english in (("auftrag", "job"), ("roue", "wheel"), ("zähne", "teeth")):
        assert any(name in one and f"did you mean {english}?" in one for one in said), said
