"""The JSON Schema of job files and the workshop folder that ``camgen start`` makes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from camgen.cli import group
from camgen.commands.reference.schema import schema_text
from camgen.faults import Refused
from camgen.job.checks.whole_job import check_job
from camgen.job.models import Job
from camgen.job.reading import read_job
from camgen.job.schema import job_schema
from camgen.shipped import shipped_folder
from camgen.shop.cutters import own_cutters
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.steps import STEPS, step_words


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    return job_schema(step_words())


def test_the_committed_schema_is_the_one_the_models_make() -> None:
    committed = (shipped_folder("jobs") / "job.schema.json").read_text("utf-8")
    assert committed == schema_text(), "run: camgen schema --out jobs/job.schema.json"


def test_every_reference_in_the_schema_leads_somewhere(schema: dict[str, Any]) -> None:
    def references(part: Any) -> set[str]:
        if isinstance(part, dict):
            own = {part["$ref"]} if isinstance(part.get("$ref"), str) else set()
            return own.union(*(references(value) for value in part.values()))
        if isinstance(part, list):
            return set().union(*(references(value) for value in part))
        return set()

    found = references(schema)
    assert found
    assert found <= {f"#/$defs/{name}" for name in schema["$defs"]}


def test_the_schema_knows_every_word_and_every_kind_of_step(schema: dict[str, Any]) -> None:
    assert set(schema["properties"]) == {field.alias for field in Job.model_fields.values()}
    assert set(schema["$defs"]["Step"]["properties"]) == set(STEPS)
    cut_teeth = schema["$defs"]["CutTeeth"]
    assert "trial-spaces" in cut_teeth["properties"]
    assert cut_teeth["required"] == ["cutter"]
    assert cut_teeth["additionalProperties"] is False


def test_every_word_of_a_job_file_is_explained(schema: dict[str, Any]) -> None:
    silent = [f"{name}.{word}" for name, model in {"Job": schema, **schema["$defs"]}.items()
              for word, about in model.get("properties", {}).items()
              if "description" not in about and "$ref" not in about and "const" not in about]
    assert not silent


def test_the_schema_is_written_to_the_file_named(tmp_path: Path, schema: dict[str, Any]) -> None:
    out = tmp_path / "schema.json"
    result = CliRunner().invoke(group, ["schema", "--out", str(out)])
    assert result.exit_code == 0
    assert json.loads(out.read_text("utf-8")) == schema
    shown = CliRunner().invoke(group, ["schema"])
    assert json.loads(shown.output) == schema


def test_a_new_workshop_holds_jobs_that_can_be_read_at_once(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    result = CliRunner().invoke(group, ["start", str(folder)])
    assert result.exit_code == 0
    assert result.output.rstrip().endswith("camgen make jobs/third-wheel.yaml --out out")
    jobs = sorted((folder / "jobs").glob("*.yaml"))
    assert len(jobs) >= 5
    for job in jobs:
        check_job(read_job(job, step_words()), None, folder)
    assert find_machine("my-mill", folder).name == "my-mill"
    assert set(own_cutters(folder)) == {"mill-04", "wheel-disc"}
    assert find_material("our-brass", folder).title == "leaded brass sheet as we buy it"


def test_the_first_command_that_start_names_works_in_the_new_folder(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    CliRunner().invoke(group, ["start", str(folder)], catch_exceptions=False)
    result = CliRunner().invoke(group, ["make", str(folder / "jobs" / "third-wheel.yaml"), "--out",
                                        str(tmp_path / "out"), "--no-pictures"],
                                catch_exceptions=False)
    assert result.exit_code == 0
    assert (tmp_path / "out" / "third-wheel-teeth.nc").is_file()


def test_start_overwrites_nothing(tmp_path: Path) -> None:
    (tmp_path / "jobs").mkdir()
    mine = tmp_path / "jobs" / "third-wheel.yaml"
    mine.write_text("mine")
    with pytest.raises(Refused, match="nothing is overwritten"):
        CliRunner().invoke(group, ["start", str(tmp_path)], catch_exceptions=False)
    assert mine.read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["jobs"]


def test_start_needs_a_folder(tmp_path: Path) -> None:
    file = tmp_path / "a"
    file.write_text("x")
    with pytest.raises(Refused, match="a file, not a folder"):
        CliRunner().invoke(group, ["start", str(file)], catch_exceptions=False)
