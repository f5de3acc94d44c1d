"""What the answer notes of a job as a whole: stacks, order, cutters whose material nobody said."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from demos import proved_demo

from camgen.cli import group
from camgen.commands import make
from camgen.make.chain import proved_job
from camgen.make.told.report import notes_of, report_of, taken_of, times_of
from camgen.make.told.sheet_texts import sheet_of
from camgen.sheet import sheet_html
from camgen.shipped import shipped_folder
from camgen.shop.cutters import RECORDS, Cutter, CutterKind, disagreements, profile_of, reach_of
from camgen.words import languages, words

JOBS = shipped_folder("jobs")


@pytest.mark.long
def test_a_cutter_of_unsaid_material_is_noted_once_in_the_answer_and_told_on_the_sheet() -> None:
    proved = proved_demo("third-wheel")
    note, sizes = notes_of(proved)
    assert sizes.startswith("sizes that the job does not say of its cutters are taken so: spot: ")
    assert note.startswith("spot, drill, mill, teeth: taken as carbide")
    answer = CliRunner().invoke(group, ["check", str(JOBS / "third-wheel.yaml")]).output
    assert answer.count("taken as carbide") == 1
    for language, said in (("en", "taken as carbide"), ("de", "als Hartmetall angenommen"),
                           ("fr", "supposé en carbure")):
        sheet = sheet_of(proved, times_of(proved), {}, words(language), None)
        assert all(said in line.what for setup in sheet.setups for line in setup.cutters)


def test_a_cutter_whose_material_is_said_is_not_noted() -> None:
    proved = proved_demo("seconds-pinion")
    # A blank that no step of the job turns is told of; the cutter is not.
    note, sizes = notes_of(proved)
    assert "leaves: holder 20;" in sizes
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


# --- sizes that nobody said -----------------------------------------------------------------------

# What of a cutter is no size of it: what it is, how fast it may run, how stiff it is, where it
# stands; how sharp it is and how true it runs are the material's and the spindle's.
NO_SIZE = {"kind", "diameter", "material", "edge_radius", "run_out", "plunges", "highest_speed",
           "number", "modulus", "strength", "made_for", "ground", "profile", "pitch",
           "topping"}
SIZES = {"flutes": 3, "flute_length": 2.5, "reach": 9.0, "shank": 1.6, "holder": 14.0,
         "point_angle": 100.0, "tip": 0.3, "corner_radius": 0.2, "thickness": 0.4, "arbor": 1.3}


def test_every_word_of_a_cutter_is_a_size_or_known_to_be_none() -> None:
    assert set(Cutter.model_fields) == NO_SIZE | set(SIZES)


def whole(kind: CutterKind, **other: float) -> Cutter:
    """A cutter with every size said that its kind has, but for ``other``."""
    pitch = 0.25 if RECORDS[kind].threads else None
    wrong = {one.word.replace("-", "_") for one in disagreements(
        Cutter(kind=kind, diameter=2.0, pitch=pitch, **SIZES)) if one.present}
    return Cutter(kind=kind, diameter=2.0, pitch=pitch, **{
        **{word: size for word, size in SIZES.items() if word not in wrong}, **other})


def without(cutter: Cutter, word: str) -> Cutter:
    said = cutter.model_dump(include=cutter.model_fields_set)
    return Cutter(**{name: value for name, value in said.items() if name != word})


@pytest.mark.parametrize("kind", RECORDS)
def test_every_size_that_counts_is_told_where_it_is_left_out(kind: CutterKind) -> None:
    """A size counts where another one gives another outline, or another number of edges."""
    said = whole(kind)
    assert profile_of(said).taken == ()
    counted = 0
    for name in said.model_fields_set & set(SIZES):
        other = said.model_copy(update={name: 1.2 * SIZES[name]})
        counts = profile_of(other).parts != profile_of(said).parts
        told = [one.word for one in profile_of(without(said, name)).taken]
        counted += counts
        assert set(told) == ({name.replace("_", "-")} if counts else set()) or name == "flutes"
    # Length, shank and holder of them all.
    assert counted >= 3


@pytest.mark.parametrize("kind", RECORDS)
def test_what_is_taken_is_what_would_be_as_if_it_had_been_written(kind: CutterKind) -> None:
    pitch = 0.25 if RECORDS[kind].threads else None
    bare = Cutter(kind=kind, diameter=2.0, pitch=pitch)
    taken = profile_of(bare).taken
    words = {one.word.replace("-", "_"): one.value for one in taken}
    said = Cutter(kind=kind, diameter=2.0, pitch=pitch, **words)
    high = profile_of(bare).parts[-1].high
    for height in (high * share / 97 for share in range(-20, 98)):
        assert profile_of(said).radius_at(height) == profile_of(bare).radius_at(height)
    assert profile_of(said).taken == ()
    assert reach_of(said) == reach_of(bare)


def test_sizes_nobody_said_are_in_answer_report_and_on_every_sheet(tmp_path: Path) -> None:
    job = tmp_path / "wheel.yaml"
    text = (JOBS / "third-wheel.yaml").read_text(encoding="utf-8")
    job.write_text(text.replace("flute-length: 4, reach: 6", "reach: 6"), encoding="utf-8")
    proved = proved_job(job)
    told = "drill: point-angle 118, flute-length 6, holder 20;"
    assert any(told in note for note in notes_of(proved))
    assert any(told in note for note in report_of(proved, times_of(proved), None)["notes"])
    for language in languages():
        page = sheet_html(sheet_of(proved, times_of(proved), {}, words(language), None), language)
        assert "flute-length 6, holder 20" in page
        assert words(language)("sheet", "taken", sizes="point-angle 118") in page


def test_a_run_tells_five_notes_at_most_what_cutters_are_taken_for_last(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    proved = proved_demo("train-plate")
    report = report_of(proved, times_of(proved), None)
    told = {}
    for folder in (tmp_path, None):
        make._tell(proved, report, folder, pictures=False)
        told[folder] = capsys.readouterr().out
    shown, whole = (re.findall(r"^  note: (.*)$", told[one], re.M) for one in (tmp_path, None))
    assert shown == whole[:make.MOST_NOTES]
    assert len(whole) <= make.MOST_NOTES or f"{len(whole) - make.MOST_NOTES} more" in told[tmp_path]
    assert [one in taken_of(proved) for one in whole] == [False] * (len(whole) - 2) + [True] * 2
    many = report | {"notes": [*report["notes"], *(f"note {number}" for number in range(9))]}
    make._tell(proved, many, tmp_path, pictures=False)
    out = capsys.readouterr().out
    assert out.count("  note: ") == make.MOST_NOTES
    assert f"{len(whole) + 9 - make.MOST_NOTES} more are on the sheet" in out
    make._tell(proved, many, None, pictures=False)
    assert capsys.readouterr().out.count("  note: ") == len(whole) + 9
