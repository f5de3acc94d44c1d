"""The JSON Schema of files of parts on one stock, and the files that are shipped with it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from camgen.cli import group
from camgen.commands.reference.schema import schema_text
from camgen.commands.start import workshop_files
from camgen.faults import Refused
from camgen.guides import find_guide
from camgen.job.file import workshop_of
from camgen.job.joined.one_stock.stock_words import OneStock
from camgen.job.reading import read_job
from camgen.make.one_stock.chain import proved_stock
from camgen.shipped import shipped_folder
from camgen.steps import step_words
from camgen.words import languages

SCHEMA = json.loads(schema_text("stock"))
# Steps and cutters are those of the schema of jobs, beside it.
JOBS = json.loads(schema_text())
SHIPPED = shipped_folder("jobs") / "stocks" / "cock-and-clamps.yaml"
TYPES = {"object": dict, "array": list, "string": str, "boolean": bool, "integer": int,
         "number": (int, float)}


def unfit(value: Any, schema: dict[str, Any], at: str = "") -> list[str]:
    """Where a value does not fit a schema, by the words of JSON Schema 2020-12 used there."""
    if "$ref" in schema:
        _, name = schema["$ref"].rsplit("/", 1)
        return unfit(value, SCHEMA["$defs"].get(name) or JOBS["$defs"][name], at)
    found = []
    for choices in ("anyOf", "oneOf"):
        if choices in schema and not any(not unfit(value, one, at) for one in schema[choices]):
            found.append(f"{at}: none of {choices}")
    if "type" in schema and (not isinstance(value, TYPES[schema["type"]]) or (
            isinstance(value, bool) and schema["type"] != "boolean")):
        return [*found, f"{at}: no {schema['type']}"]
    if "enum" in schema and value not in schema["enum"]:
        found.append(f"{at}: not in {schema['enum']}")
    if "const" in schema and value != schema["const"]:
        found.append(f"{at}: not {schema['const']}")
    if isinstance(value, str) and not re.search(schema.get("pattern", ""), value):
        found.append(f"{at}: pattern")
    if isinstance(value, int | float):
        for word, holds in (("minimum", value >= schema.get("minimum", value)),
                            ("maximum", value <= schema.get("maximum", value)),
                            ("exclusiveMinimum", value > schema.get("exclusiveMinimum", -1e99))):
            found += [] if holds else [f"{at}: {word}"]
    if isinstance(value, list):
        if not schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", 1e9):
            found.append(f"{at}: count")
        for n, one in enumerate(value):
            found += unfit(one, (schema.get("prefixItems", [])[n:n + 1] or [
                schema.get("items") or {}])[0], f"{at}/{n}")
    return found + (unfit_words(value, schema, at) if isinstance(value, dict) else [])


def unfit_words(value: dict[str, Any], schema: dict[str, Any], at: str) -> list[str]:
    """The same of a group of words."""
    found = [f"{at}: lacks {word}" for word in schema.get("required", ()) if word not in value]
    for word, one in value.items():
        own = schema.get("properties", {}).get(word) or next(
            (about for names, about in schema.get("patternProperties", {}).items()
             if re.search(names, word)), None)
        if own is None and schema.get("additionalProperties", True) is False:
            found.append(f"{at}: {word} is not known")
        found += unfit(one, own, f"{at}/{word}") if own is not None else []
    return found


def guides() -> list[tuple[str, dict[str, Any]]]:
    return [(language, yaml.safe_load(block)) for language in languages() for block in re.findall(
        r"```yaml\n(.*?)```", find_guide("many-at-once", language).text, re.S)
        if "\npieces:" in block]


def test_the_committed_schema_is_the_one_the_models_make() -> None:
    committed = (shipped_folder("jobs") / "stock.schema.json").read_text("utf-8")
    assert committed == schema_text("stock"), \
        "run: camgen schema --of stock --out jobs/stock.schema.json"


def test_it_knows_every_word_and_explains_it() -> None:
    assert set(SCHEMA["properties"]) == {field.alias for field in OneStock.model_fields.values()}
    silent = [f"{name}.{word}" for name, model in {"OneStock": SCHEMA, **SCHEMA["$defs"]}.items()
              for word, about in model.get("properties", {}).items()
              if "description" not in about and "$ref" not in about and "const" not in about]
    assert not silent
    names = re.findall(r'"([a-z.]*)#/\$defs/([A-Za-z0-9_]+)"', json.dumps(SCHEMA))
    assert {file for file, _ in names} == {"", "job.schema.json"}
    assert all(name in (JOBS if file else SCHEMA)["$defs"] for file, name in names)
    assert ("job.schema.json", "Step") in names
    assert (shipped_folder("jobs") / "job.schema.json").is_file()


def test_the_shipped_stock_and_the_guides_fit_the_schema() -> None:
    assert [language for language, _ in guides()] == list(languages())
    for said in (*(one for _, one in guides()), yaml.safe_load(SHIPPED.read_text("utf-8"))):
        assert unfit(said, SCHEMA) == []


def test_a_turned_stock_fits_and_what_is_wrong_does_not() -> None:
    whole = {
        **guides()[0][1], "second-side": {"turned-over": "about X"},
        "dowels": {"at": [[-19, -6], [18, 5]], "diameter": 1.5,
                   "steps": [{"drill": {"cutter": "d15"}}]},
        "cutters": {"d15": {"kind": "drill", "diameter": 1.5}, "mill": "mill-04"}}
    assert unfit(whole, SCHEMA) == []
    for word, wrong in {
        "second-side": {"turned-over": "about Z"}, "pieces": [], "packed": {"betwen": 1.2},
        "cutters": {"d15": {"kind": "drill", "width-of-it": 2}}, "piece": [], "safe-height": -1,
        "dowels": {"at": [[-19, -6], [18, 5]], "diameter": 1.5, "steps": [{"dril": {}}]},
    }.items():
        assert unfit({**whole, word: wrong}, SCHEMA), word
    assert unfit({word: one for word, one in whole.items() if word != "stock"}, SCHEMA)


def test_it_is_written_where_it_is_asked_for(tmp_path: Path) -> None:
    out = tmp_path / "stock.json"
    done = CliRunner().invoke(group, ["schema", "--of", "stock", "--out", str(out)])
    assert done.exit_code == 0, done.output
    assert json.loads(out.read_text("utf-8")) == SCHEMA
    assert "parts on one stock" in done.output


def test_the_shipped_stock_is_proved_and_stands_in_a_new_workshop() -> None:
    stock = proved_stock(SHIPPED)
    assert stock.failed == ()
    assert [one.kind.names for one in stock.parts] == [
        ("motion-cock",), ("case-clamp-1", "case-clamp-2", "case-clamp-3")]
    files = workshop_files()
    for path in SHIPPED.parent.iterdir():
        assert files[f"jobs/stocks/{path.name}"] == path.read_bytes()
    assert files["jobs/stock.schema.json"] == schema_text("stock").encode()
    # Machine files and cutters of the workshop are found from there.
    assert workshop_of(SHIPPED) == shipped_folder("jobs").parent


def test_its_jobs_are_jobs_of_their_own_too() -> None:
    for name in ("case-clamp", "motion-cock"):
        job = read_job(SHIPPED.with_name(f"{name}.yaml"), step_words()).job
        assert len(job.flat) == 1


@pytest.mark.parametrize("words", [
    "second-side: {turned-over: about X}", "dowels: {at: [[1, 2], [3, 4]], diameter: 1.5}",
    "packed: {between: 1}", "pieces: [{job: a.yaml}]"])
@pytest.mark.parametrize("within", [False, True])
def test_its_words_in_an_ordinary_job_show_the_way(
    tmp_path: Path, words: str, within: bool
) -> None:
    text = SHIPPED.with_name("case-clamp.yaml").read_text("utf-8")
    old, new = ("    holding:", f"    {words}\n    holding:") if within else (
        "quantity:", f"{words}\nquantity:")
    path = tmp_path / "job.yaml"
    path.write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(Refused) as no:
        read_job(path, step_words())
    fault, = (one for one in no.value.faults if "not a word known here" in one.message)
    assert "camgen guide many-at-once" in fault.remedy
    assert fault.place.line > 0
