"""Packing a job and unpacking it elsewhere."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.faults import Refused
from camgen.library.pack import CONTENTS, packed, packed_fingerprints, unpack, unpacked

FILES = {"jobs/wheel.yaml": b"job: wheel\n", "programs/wheel.nc": b"%\nM30\n%\n"}


def _forged(names: dict[str, bytes], listed: dict[str, str] | None = None) -> bytes:
    """An archive made by hand, with names no honest packing gives."""
    import hashlib

    sums = listed or {n: hashlib.sha256(c).hexdigest() for n, c in names.items()}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(CONTENTS, json.dumps({"form": 1, "job": "x", "files": sums}))
        for name, content in names.items():
            archive.writestr(name, content)
    return out.getvalue()


def test_what_is_packed_comes_out_the_same_and_packs_to_the_same_bytes(tmp_path: Path) -> None:
    archive = packed(FILES, "wheel")
    assert archive == packed(dict(reversed(FILES.items())), "wheel")
    assert unpacked(archive) == FILES
    (tmp_path / "a.zip").write_bytes(archive)
    unpack(tmp_path / "a.zip", tmp_path / "there")
    for name, content in FILES.items():
        assert (tmp_path / "there" / name).read_bytes() == content


@pytest.mark.parametrize("name", [
    "../out.yaml", "jobs/../../out.yaml", "/etc/out", "C:/out.yaml", "..\\out.yaml", "jobs//x",
    "./x", "folder/", ".git/hooks/post-checkout", ".bashrc", "jobs/.hidden", "jobs/.git/config",
    "jobs/a\x1b[2Jb.yaml", "jobs/a\nb.yaml", " jobs/x", "jobs/x ",
])
def test_a_path_that_leads_out_is_refused_and_nothing_is_written(
    tmp_path: Path, name: str
) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.zip").write_bytes(_forged({name: b"x", **FILES}))
    with pytest.raises(Refused, match="leads out"):
        unpack(tmp_path / "in" / "a.zip", tmp_path / "in" / "there")
    assert [p.name for p in tmp_path.rglob("*")] == ["in", "a.zip"]
    with pytest.raises(Refused):
        packed({name: b"x"}, "wheel")


def test_a_link_in_the_folder_does_not_lead_the_unpacking_out(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "there").mkdir()
    (tmp_path / "there" / "jobs").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    (tmp_path / "a.zip").write_bytes(packed(FILES, "wheel"))
    with pytest.raises(Refused, match="outside"):
        unpack(tmp_path / "a.zip", tmp_path / "there")
    assert not list((tmp_path / "elsewhere").iterdir())


def test_changed_added_and_missing_files_are_all_named() -> None:
    sums = dict.fromkeys((*FILES, "jobs/gone.yaml"), "0" * 64)
    archive = _forged({**FILES, "jobs/added.yaml": b"x"}, sums)
    with pytest.raises(Refused) as no:
        unpacked(archive)
    text = str(no.value)
    assert "jobs/gone.yaml is missing" in text
    assert "jobs/added.yaml is not in the archive's list" in text
    assert "jobs/wheel.yaml was changed" in text


def test_a_file_that_is_there_and_differs_is_never_overwritten(tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes(packed(FILES, "wheel"))
    there = tmp_path / "there"
    unpack(tmp_path / "a.zip", there)
    unpack(tmp_path / "a.zip", there)
    (there / "jobs" / "wheel.yaml").write_text("mine")
    with pytest.raises(Refused, match="there already"):
        unpack(tmp_path / "a.zip", there)
    assert (there / "jobs" / "wheel.yaml").read_text() == "mine"


@settings(max_examples=few(150), deadline=None)
@given(at=st.integers(min_value=0), byte=st.integers(0, 255), cut=st.booleans())
def test_a_damaged_archive_is_answered_or_whole_never_a_crash(
    at: int, byte: int, cut: bool
) -> None:
    archive = bytearray(packed(FILES, "wheel"))
    place = at % len(archive)
    damaged = bytes(archive[:place]) if cut else bytes(
        archive[:place] + bytes([byte]) + archive[place + 1:])
    with contextlib.suppress(Refused):
        assert unpacked(damaged) == FILES


def test_a_list_nested_without_end_is_a_damaged_archive(tmp_path: Path) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(CONTENTS, "[" * 200_000)
    with pytest.raises(Refused, match="no list of its files"):
        unpacked(out.getvalue())
    (tmp_path / "a.zip").write_bytes(out.getvalue())
    with pytest.raises(Refused):
        unpack(tmp_path / "a.zip", tmp_path / "there")
    assert [one.name for one in tmp_path.iterdir()] == ["a.zip"]


def test_a_name_that_is_a_file_and_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes(_forged({"jobs": b"x", "jobs/wheel.yaml": b"y"}))
    with pytest.raises(Refused, match="a file and a folder"):
        unpack(tmp_path / "a.zip", tmp_path / "there")
    assert not (tmp_path / "there").exists()


@pytest.mark.parametrize("told", ["../secret.yaml", "/etc/passwd", "jobs/not-there.yaml", 5, None])
def test_the_job_file_an_archive_tells_of_is_one_it_brought(tmp_path: Path, told: object) -> None:
    import hashlib

    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(CONTENTS, json.dumps({
            "form": 1, "job": "x", "job-file": told,
            "prints": {"job": "0" * 12, "tables": "0" * 12, "machine": "0" * 12, "writer": "1"},
            "files": {"jobs/a.yaml": hashlib.sha256(b"x").hexdigest()}}))
        archive.writestr("jobs/a.yaml", b"x")
    (tmp_path / "a.zip").write_bytes(out.getvalue())
    unpack(tmp_path / "a.zip", tmp_path / "there")
    assert packed_fingerprints(tmp_path / "a.zip") is None


@pytest.mark.parametrize("words", [
    "based-on: {}", "plate: {{outline: {{drawing: {}}}}}", "plate: {{matches: {{job: {}}}}}",
    "plate: {{pockets: {{a: {{islands: [{{drawing: {}}}]}}}}}}",
])
@pytest.mark.parametrize("goal", ["/etc/passwd", "../../secret.yaml", "../jobs/../../x.dxf",
                                  "'C:/secret.yaml'", "'..\\..\\x.yaml'"])
def test_a_packed_job_names_no_file_outside_its_folder(words: str, goal: str) -> None:
    inside = words.format("../drawings/plate.dxf").encode()
    archive = packed({"jobs/a.yaml": inside}, "a", "jobs/a.yaml")
    assert unpacked(archive) == {"jobs/a.yaml": inside}
    outside = words.format(goal).encode()
    with pytest.raises(Refused, match="outside the workshop folder"):
        packed({"jobs/a.yaml": outside}, "a", "jobs/a.yaml")
    forged = io.BytesIO()
    with zipfile.ZipFile(forged, "w") as out:
        sums = {"jobs/a.yaml": hashlib.sha256(outside).hexdigest()}
        out.writestr("contents.json", json.dumps({
            "form": 1, "job": "a", "job-file": "jobs/a.yaml", "files": sums, "prints": None}))
        out.writestr("jobs/a.yaml", outside)
    with pytest.raises(Refused, match="outside the workshop folder"):
        unpacked(forged.getvalue())
