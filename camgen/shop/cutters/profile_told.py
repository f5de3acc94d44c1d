"""Which profile a form cutter has, in words: on the sheet, in the program, at the machine."""

from __future__ import annotations

from camgen.messages import Message
from camgen.shop.cutters.cutter import Cutter

__all__ = ["made_for"]


def made_for(cutter: Cutter) -> Message:
    """The profile of a form cutter in words, with the words of its form that the job says.

    >>> from camgen.shop.cutters.cutter import MadeFor
    >>> made_for(Cutter(kind="form-disc", diameter=20, made_for=MadeFor(
    ...     form="ratchet", module=0.2, teeth=45, front=0, depth=0.35)))
    'ratchet, module 0.2, 45 teeth, front: 0.0, depth: 0.35'
    """
    made = cutter.made_for
    if made is None:
        return Message("the space of this job")
    said = Message("{form}, module {module:g}, {teeth} teeth", form=made.form,
                   module=made.module, teeth=made.teeth)
    if made.mate is not None:
        said = Message("{said}, mate of {mate}", said=said, mate=made.mate)
    own = tuple(f"{name.replace('_', '-')}: {value}" for name, value in made.own().items()
                if name in made.model_fields_set)
    return Message("{said}, {own}", said=said, own=own) if own else said
