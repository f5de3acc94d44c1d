"""What a model wants at one point of a file, and how to say it."""

from __future__ import annotations

import types
from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

from camgen.values import dataclass
from camgen.yamlfile.advice import listing, number_text
from camgen.yamlfile.document import DataPath

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic.fields import FieldInfo

__all__ = ["NONSENSE", "Wanted", "words_of"]

# A number with a point is bounded by this or more only to keep nonsense out.
NONSENSE = 10_000.0


@dataclass(frozen=True)
class Wanted:
    """What a model wants at one point: its type, and the field that says so."""

    type: Any
    field: FieldInfo | None

    def members(self) -> list[Any]:
        """The types a value here may have, unwrapped of Annotated and of 'or nothing'."""
        return list(_members(self.type))

    def models(self) -> list[type[BaseModel]]:
        from pydantic import BaseModel

        return [member for member in self.members()
                if isinstance(member, type) and issubclass(member, BaseModel)]

    def model_for(self, data: Any) -> type[BaseModel] | None:
        """The one model meant, by its ``kind`` where there is a choice."""
        models = self.models()
        if len(models) > 1 and isinstance(data, dict):
            for model in models:
                field = model.model_fields.get("kind")
                if field and data.get("kind") in get_args(field.annotation):
                    return model
        return models[0] if models else None

    def tags(self) -> list[str]:
        return [str(tag) for model in self.models() if "kind" in model.model_fields
                for tag in get_args(model.model_fields["kind"].annotation)]

    def words(self, data: Any) -> list[str]:
        model = self.model_for(data)
        return [alias for alias, _ in _fields(model)] if model else []

    def inside(self, part: str | int, data: Any) -> Wanted | None:
        """What is wanted one step further in, None where the model knows of no such step."""
        model = self.model_for(data)
        if model is not None and isinstance(part, str):
            for alias, field in _fields(model):
                if alias == part:
                    return Wanted(_with_metadata(field), field)
        for member in self.members():
            origin, args = get_origin(member), get_args(member)
            if origin is dict and isinstance(part, str) and len(args) == 2:
                return Wanted(args[1], None)
            if origin in (tuple, list) and isinstance(part, int) and args:
                if (len(args) == 2 and args[1] is Ellipsis) or origin is list:
                    return Wanted(args[0], None)
                if part < len(args):
                    return Wanted(args[part], None)
        return None

    def tuple_length(self) -> int:
        """How many values a list of fixed length holds, 0 where it has no fixed length."""
        for member in self.members():
            args = get_args(member)
            if get_origin(member) is tuple and Ellipsis not in args:
                return len(args)
        return 0

    def marks(self) -> list[Any]:
        """Bounds and other marks that stand beside the type."""
        return list(_metadata(self.type))

    def choices(self) -> list[str]:
        return [str(word) for member in self.members() if get_origin(member) is Literal
                for word in get_args(member)]

    def description(self) -> str:
        text = (self.field.description or "") if self.field else ""
        return f"{text[0].upper()}{text[1:]}." if text else ""

    def range_words(self) -> str:
        """The range allowed, in words; a bound that only keeps nonsense out goes without saying."""
        low = high = ""
        for limit in _metadata(self.type):
            for name, words in (("gt", "more than {}"), ("ge", "{} or more"),
                                ("lt", "less than {}"), ("le", "{} or less")):
                bound = getattr(limit, name, None)
                if bound is None or (isinstance(bound, float) and abs(bound) >= NONSENSE):
                    continue
                text = words.format(number_text(bound))
                low, high = (text, high) if name[0] == "g" else (low, text)
        if low.endswith(" or more") and high.endswith(" or less"):
            return f"from {low.removesuffix(' or more')} to {high.removesuffix(' or less')}"
        if low and high.endswith(" or less"):
            return f"{low} and at most {high.removesuffix(' or less')}"
        return " and ".join(part for part in (low, high) if part)

    def list_words(self) -> str:
        length = self.tuple_length()
        about = self.description()
        how = (f"Write {length} values in brackets, such as [{', '.join('12345'[:length])}]."
               if length else "Write a list: in brackets, or each point on a line of its own "
               "after a hyphen and a space.")
        return f"{about} {how}".strip()

    def sentence(self) -> str:
        """What is wanted here, as a sentence or two."""
        about = self.description()
        choices = self.choices()
        if choices:
            return f"{about} One of {listing(choices)}.".strip()
        models = self.models()
        if models and models[0].__doc__:
            about = about or models[0].__doc__.strip().split("\n")[0]
            return f"{about} It holds words of its own: {listing(self.words(None))}."
        kinds = [member for member in self.members() if isinstance(member, type)]
        limits = self.range_words()
        if int in kinds or float in kinds:
            what = "A whole number" if int in kinds else "A number"
            return f"{about} {what}{' ' + limits if limits else ''}.".strip()
        if bool in kinds:
            return f"{about} true or false.".strip()
        if any(get_origin(member) in (tuple, list) for member in self.members()):
            return self.list_words()
        return about


def _fields(model: type[BaseModel]) -> Iterator[tuple[str, FieldInfo]]:
    """The words of a model as they are written in a file, with their fields."""
    for name, field in model.model_fields.items():
        yield field.alias or name, field


def _with_metadata(field: FieldInfo) -> Any:
    """A field's type with its bounds put back beside it."""
    wanted: Any = field.annotation
    for item in field.metadata:
        wanted = Annotated[wanted, item]
    return wanted


def _members(wanted: Any) -> Iterator[Any]:
    origin = get_origin(wanted)
    if origin is Annotated:
        yield from _members(get_args(wanted)[0])
    elif origin in (Union, types.UnionType):
        for member in get_args(wanted):
            if member is not type(None):
                yield from _members(member)
    elif wanted is not None:
        yield wanted


def _metadata(wanted: Any) -> Iterator[Any]:
    origin = get_origin(wanted)
    if origin is Annotated:
        base, *items = get_args(wanted)
        yield from _metadata(base)
        for item in items:
            yield from getattr(item, "metadata", None) or (item,)
    elif origin in (Union, types.UnionType):
        for member in get_args(wanted):
            yield from _metadata(member)


def words_of(model: type[BaseModel], way: DataPath = (), depth: int = 0) -> Iterator[DataPath]:
    """Every word the model knows with the words it stands under, the outermost first."""
    if depth > 6:
        return
    deeper: list[tuple[Any, DataPath]] = []
    for alias, field in _fields(model):
        yield (*way, alias)
        deeper.append((field.annotation, (*way, alias)))
    for wanted, at in deeper:
        for inner in _models_in(wanted):
            yield from words_of(inner, at, depth + 1)


def _models_in(wanted: Any) -> Iterator[type[BaseModel]]:
    from pydantic import BaseModel

    for member in _members(wanted):
        if isinstance(member, type) and issubclass(member, BaseModel):
            yield member
        else:
            for argument in get_args(member):
                yield from _models_in(argument)
