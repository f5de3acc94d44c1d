"""JSON Schema of job files, for editors to complete and check them while they are written."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from camgen.job.models import Job, StepWords

__all__ = ["job_schema"]

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def job_schema(step_words: Mapping[str, type[StepWords]]) -> dict[str, Any]:
    """The schema (JSON Schema 2020-12) of a job file with these kinds of steps.

    It knows words, types, ranges and choices; what sizes mean to one another only reading knows.
    """
    models: list[type[BaseModel]] = [Job, *step_words.values()]
    refs, shared = models_json_schema([(model, "validation") for model in models], by_alias=True)
    definitions: dict[str, Any] = shared["$defs"]
    job_name = _name(refs[Job, "validation"])
    definitions.pop("StepWords", None)
    definitions["Step"] = {
        "description": "one step: its kind, and beneath it the words of that kind",
        "type": "object",
        "properties": {
            word: {"$ref": refs[model, "validation"]["$ref"]} for word, model in step_words.items()
        },
        "additionalProperties": False,
        "minProperties": 1,
        "maxProperties": 1,
    }
    steps = definitions["Setup"]["properties"]["steps"]
    steps.clear()
    steps |= {"description": "the steps, in order", "type": "array", "minItems": 1,
              "items": {"$ref": "#/$defs/Step"}}
    definitions["Setup"].setdefault("required", []).append("steps")
    job = definitions.pop(job_name)
    return {"$schema": DRAFT, "title": "A job file", **_plain(job),
            "$defs": {name: _plain(definitions[name]) for name in sorted(definitions)}}


def _name(reference: Mapping[str, Any]) -> str:
    return str(reference["$ref"]).rsplit("/", 1)[-1]


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
