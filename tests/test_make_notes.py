"""What the answer notes of a job as a whole: stacks, order, cutters whose material nobody said."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner

from camgen.cli import group
from camgen.make.chain import proved_job
from camgen.make.report import notes_of, times_of
from camgen.make.sheetfill import sheet_of
from camgen.shipped import shipped_folder
from camgen.words import words

JOBS = shipped_folder("jobs")


def test_a_cutter_of_unsaid_material_is_noted_once_in_the_answer_and_told_on_the_sheet() -> None:
    proved = proved_job(JOBS / "third-wheel.yaml")
    (note,) = notes_of(proved)
    assert note.startswith("spot, drill, mill, teeth: taken as carbide")
    answer = CliRunner().invoke(group, ["check", str(JOBS / "third-wheel.yaml")]).output
    assert answer.count("taken as carbide") == 1
    for language, said in (("en", "taken as carbide"), ("de", "als Hartmetall angenommen"),
                           ("fr", "supposé en carbure")):
        sheet = sheet_of(proved, times_of(proved), {}, words(language), None)
        assert all(said in line.what for setup in sheet.setups for line in setup.cutters)


def test_a_cutter_whose_material_is_said_is_not_noted() -> None:
    proved = proved_job(JOBS / "seconds-pinion.yaml")
    # A blank that no step of the job turns is told of; the cutter is not.
    (note,) = notes_of(proved)
    assert note.startswith("leaves: the blank is taken to come with its outline")
    sheet = sheet_of(proved, times_of(proved), {}, words("en"), None)
    assert [line.what.endswith("HSS") for line in sheet.setups[0].cutters] == [True]


def test_a_stack_larger_than_the_pieces_and_an_early_outline_are_in_the_answer(
    tmp_path: Path
) -> None:
    text = (JOBS / "third-wheel.yaml").read_text(encoding="utf-8")
    job = tmp_path / "wheel.yaml"
    text = text.replace("quantity: 8", "quantity: 1").replace(
        "      - cross-out: {cutter: mill}\n      - outline: {cutter: mill}\n",
        "      - outline: {cutter: mill}\n      - cross-out: {cutter: mill}\n")
    job.write_text(text, encoding="utf-8")
    answer = CliRunner().invoke(group, ["check", str(job)])
    assert answer.exit_code == 0, answer.output
    assert "note: stack of 8, but 1 piece is asked for" in answer.output
    assert "note: blanks: outline comes before cross out" in answer.output
