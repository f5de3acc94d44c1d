"""JSON Schema of job files and of files of parts on one stock, for editors that complete words and
check them while they are written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from camgen.job.joined.family import BASED_ON
from camgen.job.joined.one_stock.stock_words import OneStock
from camgen.job.models import Job, StepWords
from camgen.values import dataclass

__all__ = ["job_schema", "stock_schema"]

DRAFT = "https://json-schema.org/draft/2020-12/schema"
# The schema of jobs, by its name beside that of stocks.
BESIDE = "job.schema.json"
# A cutter may be written as its name in the workshop's own table.
_OWN_CUTTER = {"description": "name of a cutter in the workshop's cutters.yaml", "type": "string"}


def job_schema(step_words: Mapping[str, type[StepWords]]) -> dict[str, Any]:
    """The schema (JSON Schema 2020-12) of a job file with these kinds of steps.

    It knows words, types, ranges and choices; what sizes mean to one another only reading knows.
    """
    whole, job = _definitions(Job, step_words)
    _list_of_steps(whole["Setup"]["properties"]["steps"], "the steps, in order")
    whole["Setup"].setdefault("required", []).append("steps")
    cutters = job["properties"]["cutters"]["patternProperties"]
    for names, cutter in cutters.items():
        cutters[names] = {"anyOf": [cutter, _OWN_CUTTER]}
    changes = _Changes(whole, list(step_words), {})
    return {
        "$schema": DRAFT, "title": "A job file", "description": job["description"],
        "type": "object",
        "properties": {word: {"description": about["description"]}
                       for word, about in job["properties"].items()},
        "if": {"type": "object", "required": [BASED_ON]},
        "then": changes.of(job),
        "else": job,
        "$defs": {**whole, **dict(sorted(changes.made.items()))},
    }


def stock_schema() -> dict[str, Any]:
    """The schema (JSON Schema 2020-12) of a file that puts parts of several jobs on one stock.

    Its steps and cutters are those of the schema of jobs, which lies beside it.
    """
    refs, shared = models_json_schema([(OneStock, "validation")], by_alias=True)
    definitions: dict[str, Any] = shared["$defs"]
    _list_of_steps(definitions["StripDowels"]["properties"]["steps"],
                   "how they are made, with cutters of this file: a list of steps, as in a job",
                   beside=BESIDE)
    stock = _plain(definitions.pop(_name(refs[OneStock, "validation"]["$ref"])))
    cutters = stock["properties"]["cutters"]["patternProperties"]
    for names in cutters:
        cutters[names] = {"anyOf": [{"$ref": f"{BESIDE}#/$defs/Cutter"}, _OWN_CUTTER]}
    return {"$schema": DRAFT, "title": "A file of parts on one stock", **stock,
            "$defs": {name: _plain(definitions[name]) for name in sorted(definitions)}}


def _definitions(
    model: type[BaseModel], step_words: Mapping[str, type[StepWords]]
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Schemas of all groups of words by name, and that of the file's own words."""
    models: list[type[BaseModel]] = [model, *step_words.values()]
    refs, shared = models_json_schema([(one, "validation") for one in models], by_alias=True)
    definitions: dict[str, Any] = shared["$defs"]
    definitions.pop("StepWords", None)
    definitions["Step"] = {
        "description": "one step: its kind, and beneath it the words of that kind",
        "type": "object",
        "properties": {
            word: {"$ref": refs[one, "validation"]["$ref"]} for word, one in step_words.items()
        },
        "additionalProperties": False,
        "minProperties": 1,
        "maxProperties": 1,
    }
    # A trace may be written as the name of its file alone.
    definitions["Cutter"]["properties"]["profile"]["anyOf"].append(
        {"description": "name of the file", "type": "string"})
    own = _plain(definitions.pop(_name(refs[model, "validation"]["$ref"])))
    return {name: _plain(definitions[name]) for name in sorted(definitions)}, own


def _list_of_steps(steps: dict[str, Any], said: str, beside: str = "") -> None:
    """Makes the schema of a word that of a list of steps, as the file ``beside`` has them."""
    steps.clear()
    steps |= {"description": said, "type": "array", "minItems": 1,
              "items": {"$ref": f"{beside}#/$defs/Step"}}


@dataclass(frozen=True)
class _Changes:
    """Schemas of what a job may change of the one it is based on: every word may be left out or
    taken away. Lists are written whole, but for setups and steps, which go by name too.
    """

    whole: Mapping[str, Any]
    kinds: Sequence[str]
    made: dict[str, Any]

    def of(self, schema: Mapping[str, Any]) -> dict[str, Any]:
        """The schema of a group of words, loosened."""
        loose = {word: value for word, value in schema.items()
                 if word not in ("required", "minProperties", "default")}
        for word in ("properties", "patternProperties"):
            if word in loose:
                loose[word] = {name: self._word(name, about) for name, about in loose[word].items()}
        return loose

    def _word(self, name: str, about: Mapping[str, Any]) -> dict[str, Any]:
        said = {word: about[word] for word in ("description",) if word in about}
        if name == BASED_ON:
            return dict(about)
        choices = [self._value(choice) for choice in about.get("anyOf", [about])]
        if name == "setups":
            choices.append(self._by_name("^[a-z0-9][a-z0-9-]*$", self._reference("Setup")))
        elif name == "steps":
            by_kind = {f"^{kind}( [0-9]+)?$": self.whole["Step"]["properties"][kind]
                       for kind in self.kinds}
            choices.append({
                "type": "object", "additionalProperties": False,
                "patternProperties": {names: {"anyOf": [self._value(step), {"type": "null"}]}
                                      for names, step in by_kind.items()}})
        return {**said, "anyOf": [*choices, {"type": "null"}]}

    def _by_name(self, names: str, entry: dict[str, Any]) -> dict[str, Any]:
        return {"type": "object", "additionalProperties": False,
                "patternProperties": {names: {"anyOf": [entry, {"type": "null"}]}}}

    def _value(self, about: Mapping[str, Any]) -> dict[str, Any]:
        bare = {word: value for word, value in about.items()
                if word not in ("description", "default")}
        if "$ref" in bare:
            return self._reference(_name(bare["$ref"]))
        return self.of(bare) if bare.get("type") == "object" else bare

    def _reference(self, name: str) -> dict[str, Any]:
        changed = f"{name}Changes"
        if changed not in self.made:
            self.made[changed] = {}
            self.made[changed].update(self.of(self.whole[name]))
        return {"$ref": f"#/$defs/{changed}"}


def _name(reference: str) -> str:
    return reference.rsplit("/", 1)[-1]


def _plain(schema: Any) -> Any:
    """The schema in plain words, without the titles made from names, which say nothing new."""
    if isinstance(schema, list):
        return [_plain(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    plain: dict[str, Any] = {}
    for word, value in _written(schema).items():
        if word == "properties":
            plain[word] = {name: _plain(part) for name, part in value.items()}
        elif word == "description" and isinstance(value, str):
            # Of a model's own description the first paragraph, without marks of code.
            plain[word] = " ".join(value.split("\n\n")[0].replace("``", "").split())
        elif word != "title" or not isinstance(value, str):
            plain[word] = _plain(value)
    return plain


def _written(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema of a word as it is written: one that may be left out need not be empty."""
    choices = schema.get("anyOf", [])
    if {"type": "null"} not in choices:
        return schema
    others = [choice for choice in choices if choice != {"type": "null"}]
    rest = {word: value for word, value in schema.items() if word not in ("anyOf", "default")}
    return {**rest, **others[0]} if len(others) == 1 else {**rest, "anyOf": others}
