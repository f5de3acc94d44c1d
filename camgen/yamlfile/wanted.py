"""What a model wants at one point of a file, and how to say it."""

from __future__ import annotations

import types
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

from camgen.messages import NOTHING, Message, tabled
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
        for member in self._fitting(data):
            origin, args = get_origin(member), get_args(member)
            if origin is dict and isinstance(part, str) and len(args) == 2:
                return Wanted(args[1], None)
            if origin in (tuple, list) and isinstance(part, int) and args:
                if (len(args) == 2 and args[1] is Ellipsis) or origin is list:
                    return Wanted(args[0], None)
                if part < len(args):
                    return Wanted(args[part], None)
        return None

    def _fitting(self, data: Any) -> list[Any]:
        """The types, those first that fit a list: of one place, or of several places."""
        members = self.members()
        if len(members) > 1 and isinstance(data, tuple):
            of_lists = any(isinstance(one, tuple) for one in data)
            members.sort(key=lambda member: (Ellipsis in get_args(member)) != of_lists)
        return members

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

    def description(self) -> Message:
        """What the word is, as the model says it; nothing where it does not."""
        text = (self.field.description or "") if self.field else ""
        return tabled(text, "descriptions") if text else NOTHING

    def range_words(self) -> Message:
        """The range allowed, in words; a bound that only keeps nonsense out goes without saying."""
        bounds: dict[str, str] = {}
        for limit in _metadata(self.type):
            for name in ("gt", "ge", "lt", "le"):
                bound = getattr(limit, name, None)
                if bound is not None and not (isinstance(bound, float) and abs(bound) >= NONSENSE):
                    side = name[0]
                    bounds = {known: text for known, text in bounds.items() if known[0] != side}
                    bounds[name] = number_text(bound)
        for names, say in _RANGES:
            if bounds.keys() == set(names):
                return say(*(bounds[name] for name in names))
        return NOTHING

    def list_words(self) -> Message:
        """How a list is written here."""
        length = self.tuple_length()
        how = (Message("write {length} values in brackets, such as {example}", length=length,
                       example=f"[{', '.join('12345'[:length])}]") if length else
               Message("write a list: in brackets, or each point on a line of its own after a "
                       "hyphen and a space"))
        return self._with_about(how)

    def sentence(self) -> Message:
        """What is wanted here, as a sentence or two."""
        choices = self.choices()
        if choices:
            return self._with_about(Message("one of {choices}", choices=listing(choices)))
        models = self.models()
        if models:
            return self._with_about(Message("it holds words of its own: {words}",
                                            words=listing(self.words(None))))
        kinds = [member for member in self.members() if isinstance(member, type)]
        if int in kinds or float in kinds:
            return self._with_about(self._number_words(whole=int in kinds))
        if bool in kinds:
            return self._with_about(Message("true or false"))
        if any(get_origin(member) in (tuple, list) for member in self.members()):
            return self.list_words()
        return self.description()

    def _number_words(self, whole: bool) -> Message:
        limits = self.range_words()
        if whole:
            return Message("a whole number {limits}", limits=limits) if limits else Message(
                "a whole number")
        return Message("a number {limits}", limits=limits) if limits else Message("a number")

    def _with_about(self, what: Message) -> Message:
        """What is to be written, after what the word is."""
        about = self.description()
        return Message("{about}: {what}", about=about, what=what) if about else what


# What bounds a number may have, and how a range between them is said.
_RANGES: tuple[tuple[tuple[str, ...], Callable[..., Message]], ...] = (
    (("gt",), lambda bound: Message("more than {bound}", bound=bound)),
    (("ge",), lambda bound: Message("{bound} or more", bound=bound)),
    (("lt",), lambda bound: Message("less than {bound}", bound=bound)),
    (("le",), lambda bound: Message("{bound} or less", bound=bound)),
    (("ge", "le"), lambda least, most: Message("from {least} to {most}", least=least, most=most)),
    (("gt", "le"), lambda least, most: Message("more than {least} and at most {most}",
                                               least=least, most=most)),
    (("ge", "lt"), lambda least, most: Message("{least} or more and less than {most}",
                                               least=least, most=most)),
    (("gt", "lt"), lambda least, most: Message("more than {least} and less than {most}",
                                               least=least, most=most)),
)


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
