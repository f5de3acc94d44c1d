"""What every model of a file in the workshop has in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

__all__ = ["FileModel"]


def _kebab(name: str) -> str:
    """The word as written in a file: ``flute_length`` is ``flute-length`` there."""
    return name.replace("_", "-")


class FileModel(BaseModel):
    """A frozen model read from a YAML file: words with hyphens, no unknown words, no coercion."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=_kebab,
        populate_by_name=True,
        allow_inf_nan=False,
    )
