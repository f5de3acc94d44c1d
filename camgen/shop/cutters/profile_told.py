"""Which profile a form cutter has, in words: on the sheet, in the program, at the machine."""

from __future__ import annotations

from camgen.messages import Message
from camgen.shop.cutters.cutter import Cutter
from camgen.shop.cutters.records import record_of

__all__ = ["made_for"]


def made_for(cutter: Cutter) -> Message:
    """The profile of a form cutter in words, with the words of its form or chart that the job says.

    >>> from camgen.shop.cutters.cutter import MadeFor
    >>> from camgen.shop.cutters.ground import GroundChart
    >>> made_for(Cutter(kind="form-disc", diameter=20, made_for=MadeFor(
    ...     form="ratchet", module=0.2, teeth=45, front=0, depth=0.35)))
    'ratchet, module 0.2, 45 teeth, front: 0.0, depth: 0.35'
    >>> made_for(Cutter(kind="form-disc", diameter=20, ground=GroundChart(
    ...     module=0.16, proportions="pinion", leaves=10)))
    'ground: module: 0.16, proportions: pinion, leaves: 10'
    """
    made = cutter.made_for
    if made is None:
        return _bought(cutter)
    said = Message("{form}, module {module:g}, {teeth} teeth", form=made.form,
                   module=made.module, teeth=made.teeth)
    if made.mate is not None:
        said = Message("{said}, mate of {mate}", said=said, mate=made.mate)
    own = tuple(f"{name.replace('_', '-')}: {value}" for name, value in made.own().items()
                if name in made.model_fields_set)
    return Message("{said}, {own}", said=said, own=own) if own else said


def _bought(cutter: Cutter) -> Message:
    """One bought by its module or traced, by the words that say so.

    Of one whose proportions a job has by name, the chart's figures stand written out in it.
    """
    bought = cutter.bought
    if bought is None and not record_of(cutter).forms and cutter.thickness is not None:
        return Message("straight slot, {wide:g} mm wide", wide=cutter.thickness)
    if bought is None:
        return Message("the space of this job")
    own = tuple(f"{name}: {value}" for name, value in bought.model_dump(exclude={"points"}).items()
                if name in bought.model_fields_set and value is not None)
    return Message("{word}: {own}", word=cutter.said_as,
                   own=own or (Message("as traced under the microscope"),))
