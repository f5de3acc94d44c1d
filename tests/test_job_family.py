"""A job that stands on another says only what is different; every fault keeps its own file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from camgen.faults import Refused
from camgen.job.joined.family import family_files
from camgen.job.reading import JobFile, read_job
from camgen.library.fingerprint import as_meant, fingerprint
from camgen.steps import step_words

FIRST = """\
job: third wheel
material: brass
quantity: 8
wheel:
  {teeth: 75, module: 0.14, mate: 10, thickness: 0.25, bore: 0.80,
   crossing: {arms: 5, hub: 2.4, rim: 0.55, arm: 0.45, corner: 0.25}}
cutters:
  drill: {kind: drill, diameter: 0.60, flute-length: 5, reach: 6}
  mill: {kind: end-mill, diameter: 0.40, flutes: 2, flute-length: 0.8, reach: 1.6}
setups:
  - name: blanks
    stock: {sheet: [60, 30], thickness: 0.25}
    holding: {by: shellac, carrier: brass, carrier-thickness: 3, cut-into: 0.4, holds-slugs: true}
    repeat: {columns: 2, rows: 2, pitch: [13, 13]}
    steps:
      - drill: {cutter: drill}
      - bore: {cutter: mill, drilled: 0.60}
      - cross-out: {cutter: mill}
      - outline: {cutter: mill}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "first.yaml").write_text(FIRST)
    return tmp_path / "jobs"


def _read(folder: Path, text: str, name: str = "second.yaml") -> JobFile:
    (folder / name).write_text(text)
    return read_job(folder / name, step_words())


def _meant(folder: Path, text: str) -> dict[str, Any]:
    return as_meant(_read(folder, text).job)


def _whole(**changes: Any) -> dict[str, Any]:
    return {**yaml.safe_load(FIRST), **changes}


def _same(folder: Path, changes: str, whole: dict[str, Any]) -> None:
    """The few words of a family mean what the whole job written out means."""
    (folder / "whole.yaml").write_text(yaml.safe_dump(whole))
    plain = as_meant(read_job(folder / "whole.yaml", step_words()).job)
    joined = _meant(folder, f"based-on: first.yaml\n{changes}")
    assert joined == plain
    assert fingerprint(joined) == fingerprint(plain)


def test_a_few_words_change_the_first_job_and_no_other(folder: Path) -> None:
    whole = _whole(job="in gold", material="gold-750-yellow", quantity=4)
    whole["wheel"] = {**whole["wheel"], "teeth": 80}
    _same(folder, "job: in gold\nmaterial: gold-750-yellow\nquantity: 4\nwheel: {teeth: 80}\n",
          whole)


def test_nothing_written_for_a_word_takes_its_value_away(folder: Path) -> None:
    whole = _whole()
    del whole["wheel"]["crossing"]
    del whole["setups"][0]["steps"][2]
    _same(folder, "wheel: {crossing: null}\nsetups: {blanks: {steps: {cross-out: null}}}\n", whole)


def test_setups_are_changed_by_name_and_steps_by_kind(folder: Path) -> None:
    whole = _whole()
    whole["setups"][0]["stock"]["sheet"] = [70, 40]
    whole["setups"][0]["steps"][1]["bore"]["spring-passes"] = 2
    _same(folder, "setups:\n  blanks:\n    stock: {sheet: [70, 40]}\n"
                  "    steps: {bore: {spring-passes: 2}}\n", whole)


def test_a_setup_of_a_new_name_is_added_and_one_without_words_taken_away(folder: Path) -> None:
    again = {**_whole()["setups"][0], "name": "again"}
    text = yaml.safe_dump({"setups": {
        "blanks": None, "again": {k: v for k, v in again.items() if k != "name"}}})
    _same(folder, text, _whole(setups=[again]))


def test_a_list_written_as_a_list_takes_the_whole_lists_place(folder: Path) -> None:
    setups = _whole()["setups"]
    setups[0]["steps"] = [{"drill": {"cutter": "drill"}}]
    _same(folder, yaml.safe_dump({"setups": setups}), _whole(setups=setups))


def test_the_second_step_of_a_kind_has_its_number(folder: Path) -> None:
    whole = _whole()
    whole["setups"][0]["steps"] = [{"drill": {"cutter": "drill"}}, {"drill": {"cutter": "drill"}}]
    (folder / "two.yaml").write_text(yaml.safe_dump(whole))
    text = "based-on: two.yaml\nsetups: {blanks: {steps: {drill 2: {peck: 0.1}}}}\n"
    try:
        steps = _read(folder, text).job.setups[0].steps
    except Refused as no:
        pytest.fail(str(no))
    assert [step.model_dump(exclude_defaults=True).get("peck") for step in steps] == [None, 0.1]


def test_a_job_may_stand_on_one_that_stands_on_another(folder: Path) -> None:
    _read(folder, "based-on: first.yaml\nwheel: {teeth: 80}\n", "middle.yaml")
    found = _read(folder, "based-on: ../jobs/middle.yaml\nwheel: {thickness: 0.3}\n")
    assert found.job.wheel is not None
    assert (found.job.wheel.teeth, found.job.wheel.thickness) == (80, 0.3)
    assert [path.name for path in found.sources] == ["middle.yaml", "first.yaml"]
    assert family_files(folder / "second.yaml") == found.sources


def test_every_fault_has_the_place_in_the_file_where_its_word_stands(folder: Path) -> None:
    first = folder / "first.yaml"
    first.write_text(FIRST.replace("diameter: 0.40", "diameter: -1"))
    with pytest.raises(Refused) as no:
        _read(folder, "based-on: first.yaml\nmaterial: brass\nwheel: {teeth: 2, modul: 0.2}\n")
    places = {(Path(f.place.file).name, f.place.line): f for f in no.value.faults}
    assert places.keys() == {("first.yaml", 9), ("second.yaml", 3)}
    assert any("did you mean module?" in fault.remedy for fault in no.value.faults)


def test_what_agrees_with_nothing_is_found_in_the_joined_job(folder: Path) -> None:
    with pytest.raises(Refused, match=r"first\.yaml, line \d+.*cutter") as no:
        _read(folder, "based-on: first.yaml\ncutters: {mill: null}\n")
    assert len(no.value.faults) >= 3


@pytest.mark.parametrize(("text", "line", "said"), [
    ("based-on: frist.yaml\n", 1, "did you mean first.yaml?"),
    ("job: x\nbased-on: 3\n", 2, "names no file"),
    ("job: x\nbased-on:\n", 2, "names no file"),
    ("based-on: first.yaml\nunits: inch\n", 2, "write it in mm"),
    ("based-on: first.yaml\nwheel: {hub: null}\n", 2, "none to take away"),
    ("based-on: first.yaml\nsetups: {blank: null}\n", 2, "did you mean blanks?"),
    ("based-on: first.yaml\nsetups: {blanks: {steps: {dril: {}}}}\n", 2, "did you mean drill?"),
    ("based-on: first.yaml\nsetups: {blanks: {stock: {sheet: {x: 2}}}}\n", 2,
     "write the list anew"),
    ("based-on: second.yaml\n", 1, "in a ring"),
])
def test_what_is_wrong_with_a_family_is_told_with_its_line(
    folder: Path, text: str, line: int, said: str
) -> None:
    with pytest.raises(Refused) as no:
        _read(folder, text)
    assert said in str(no.value)
    assert all(fault.place.file.endswith("second.yaml") and fault.place.line == line
               for fault in no.value.faults)


def test_a_ring_is_named_with_all_its_jobs(folder: Path) -> None:
    (folder / "third.yaml").write_text("based-on: second.yaml\n")
    with pytest.raises(Refused) as no:
        _read(folder, "based-on: third.yaml\n")
    assert "second.yaml → " in str(no.value)
    assert "third.yaml → " in str(no.value)


def test_too_many_jobs_one_on_the_other_are_refused(folder: Path) -> None:
    for number in range(40):
        (folder / f"n{number}.yaml").write_text(f"based-on: n{number + 1}.yaml\n")
    with pytest.raises(Refused, match="more than 20 jobs"):
        read_job(folder / "n0.yaml", step_words())


def test_a_cutter_may_be_one_of_the_workshops_own(folder: Path) -> None:
    table = folder.parent / "cutters.yaml"
    table.write_text("mill-04:\n  {kind: end-mill, diameter: 0.40, flutes: 2, flute-length: 0.8,\n"
                     "   reach: 1.6}\n")
    found = _read(folder, "based-on: first.yaml\ncutters: {mill: mill-04}\n")
    assert as_meant(found.job) == as_meant(read_job(folder / "first.yaml", step_words()).job)
    assert found.sources[-1] == table
    assert str(found.place("cutters", "mill", "reach")).startswith(f"{table}, line 3")
    with pytest.raises(Refused, match=r"did you mean mill-04") as no:
        _read(folder, "based-on: first.yaml\ncutters: {mill: mil-04}\n")
    assert [(f.place.line, f.place.column) for f in no.value.faults] == [(2, 17)]


def test_the_workshops_cutters_are_in_mm_also_for_a_job_in_inches(folder: Path) -> None:
    (folder.parent / "cutters.yaml").write_text("fine: {kind: drill, diameter: 0.6, reach: 6}\n")
    found = _read(folder, (
        "job: x\nunits: inch\nmaterial: brass\ncutters: {a: fine}\n"
        "wheel: {teeth: 75, module: 0.14, mate: 10, thickness: 0.01, bore: 0.03}\n"
        "setups: [{name: s, stock: {disc: 0.5, thickness: 0.01}, steps: [{drill: {cutter: a}}]}]\n"
    ))
    assert found.job.cutters["a"].diameter == 0.6
