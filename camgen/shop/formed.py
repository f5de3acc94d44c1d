"""Models that say a tooth form: names of forms and the forms' own words are of the register."""

from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, Field

from camgen.shop.model import FileModel, Length
from camgen.teeth.form import Choice, Number, OwnWord, Size
from camgen.teeth.forms import FormWords

__all__ = ["FormedModel"]


def _annotation(word: OwnWord[Any]) -> Any:
    match word.value:
        case Number(above=above, least=least, below=below, most=most):
            return Annotated[float, Field(gt=above, ge=least, lt=below, le=most)]
        case Choice(of=words):
            return Literal.__getitem__(words)
        case Size():
            return Length if word.default is not None else Length | None


# What builds models is not named in public; asking a model for it is.
if TYPE_CHECKING:
    from pydantic._internal._model_construction import ModelMetaclass
else:
    ModelMetaclass = type(BaseModel)


class _FromTheRegister(ModelMetaclass):
    """Puts the forms' own words among a model's, where ``form_words`` stands, before it is built.

    Models built a second time would cost every start of the program.
    """

    def __new__(mcs, name: str, bases: tuple[type, ...], space: dict[str, Any], **more: Any) -> Any:
        """The class, with the words that its ``form_words`` name."""
        words = space.get("form_words")
        if isinstance(words, FormWords):
            found: dict[str, Any] = {}
            for known, annotation in space["__annotations__"].items():
                found[known] = (Literal.__getitem__(words.names) if known == "form"
                                else annotation)
                if known == "form_words":
                    for word in words.words:
                        found[word.name] = _annotation(word)
                        space[word.name] = Field(
                            word.default,
                            description=word.of_cutter if words.of_cutter else word.says)
            space["__annotations__"] = found
        return super().__new__(mcs, name, bases, space, **more)


class FormedModel(FileModel, metaclass=_FromTheRegister):
    """A model with a ``form``, and ``form_words`` from the register: the words come there."""

    form_words: ClassVar[FormWords]

    @property
    def depth_said(self) -> float | None:
        """Depth of the teeth, mm, where it is said and not a matter of the module."""
        depth: float | None = next((value for word in self.form_words.words if word.is_depth
                                    and (value := getattr(self, word.name)) is not None), None)
        return depth

    def own(self) -> dict[str, Any]:
        """Values of all own words of forms that this model can say, by name."""
        return {word.name: getattr(self, word.name) for word in self.form_words.words}
