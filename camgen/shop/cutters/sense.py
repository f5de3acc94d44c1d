"""Whether the words of one cutter agree: what no cutter is, whatever job it is for.

Asked of cutters in job files, in the workshop's table and on a command line alike. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from camgen.faults import all_of
from camgen.messages import Message
from camgen.shop.cutters.cutter import Cutter
from camgen.shop.cutters.profile import THREAD_INSIDE, PartName, profile_of
from camgen.shop.cutters.records import RECORDS, Ability, CutterRecord, EdgeForm, Way, record_of
from camgen.shop.cutters.speed import beyond_any
from camgen.values import dataclass

__all__ = ["Disagreement", "disagreements"]


@dataclass(frozen=True)
class Disagreement:
    """What is wrong with a word of a cutter, and the remedy; ``word`` as written in a file.

    ``present`` tells whether it is the word itself that is too much, and not its value.
    """

    word: str
    what: Message
    remedy: Message
    present: bool = False


# Words that mean something for some cutters only.
_WORDS_OF: Final[dict[str, Callable[[CutterRecord], bool]]] = {
    "made_for": lambda record: record.forms,
    "ground": lambda record: record.forms,
    "profile": lambda record: record.forms,
    "topping": lambda record: record.forms,
    "thickness": lambda record: record.on_arbor,
    "arbor": lambda record: record.on_arbor,
    "pitch": lambda record: record.threads,
    "tip": lambda record: record.pointed or record.can(Ability.MILL_THREAD),
    "point_angle": lambda record: record.conical,
    "corner_radius": lambda record: record.way is Way.MILLING and record.flat,
    "plunges": lambda record: record.way is Way.MILLING,
}


def disagreements(cutter: Cutter) -> Iterator[Disagreement]:
    """Everything in a cutter's words that cannot be, in no particular order.

    >>> disc = Cutter(kind="form-disc", diameter=20, reach=0.5, thickness=2, holder=40)
    >>> [one.word for one in disagreements(disc)]
    ['reach']
    """
    record = record_of(cutter)
    yield from _words(cutter)
    if record.forms:
        yield from _profiles(cutter)
    yield from _ends(cutter, record)
    yield from _lengths(cutter, record)
    yield from _widths(cutter, record)


def _words(cutter: Cutter) -> Iterator[Disagreement]:
    """Words that the kind does not have."""
    for name, has in _WORDS_OF.items():
        if name not in cutter.model_fields_set or getattr(cutter, name) is None:
            continue
        if not has(RECORDS[cutter.kind]):
            word = name.replace("_", "-")
            whose = [kind for kind, record in RECORDS.items() if has(record)]
            yield Disagreement(word, Message("the {kind} has no {word}", kind=cutter.kind,
                                             word=word),
                         Message("it is for {kinds}", kinds=all_of(whose)), True)


def _profiles(cutter: Cutter) -> Iterator[Disagreement]:
    """What a form cutter leaves is said once, and whole."""
    said = [word for word, value in (("made-for", cutter.made_for), ("ground", cutter.ground),
                                     ("profile", cutter.profile)) if value is not None]
    if len(said) > 1:
        yield Disagreement(
            said[1], Message("{words} both say what space the cutter leaves", words=all_of(said)),
            Message("leave one: made-for of a cutter made for this wheel, ground by its maker's "
                    "chart, profile as traced"), True)
    if cutter.topping and cutter.made_for is None and said:
        yield Disagreement(
            "topping", Message("how high a topping cutter leaves the teeth hangs on the wheel that "
                               "it was made for, and {word} says none", word=said[0]),
            Message("made-for: in place of {word}, or topping: no", word=said[0]))
    amiss = cutter.ground.amiss() if cutter.ground is not None else None
    if amiss is not None:
        yield Disagreement("ground", amiss.message, amiss.remedy)
    traced = cutter.profile
    if traced is not None and traced.file is None and not traced.points:
        yield Disagreement("profile", Message("a traced profile without a file or points"),
                           Message("add file: with the drawing or the list of points"))
    if traced is not None and traced.depth is not None and traced.addendum is not None and (
            traced.addendum >= traced.depth):
        yield Disagreement(
            "profile", Message("an addendum of {addendum:g} mm is no less than the whole depth, "
                               "{depth:g} mm", addendum=traced.addendum, depth=traced.depth),
            Message("depth counts from the blank to the root, addendum from the blank to the "
                    "pitch circle"))


def _ends(cutter: Cutter, record: CutterRecord) -> Iterator[Disagreement]:
    """Edges, corners, points and threads against the diameter."""
    diameter = cutter.diameter
    if record.on_arbor and record.single_point and cutter.flutes != 1:
        yield Disagreement("flutes", Message("a fly cutter has one edge"),
                           Message("write flutes: 1"))
    most = beyond_any(cutter)
    if most is not None and cutter.highest_speed is not None and cutter.highest_speed > most:
        yield Disagreement(
            "highest-speed", Message("no {kind} is turned at {speed:g} rev/min: its point is set "
                                     "out to one side", kind=cutter.kind,
                                     speed=cutter.highest_speed),
            Message("{most:g} rev/min at most", most=most))
    for word, size, limit in (("corner-radius", cutter.corner_radius, diameter / 2),
                              ("tip", cutter.tip, diameter)):
        if size > limit:
            yield Disagreement(
                word, Message("{word} {size:g} mm does not go on a cutter of {diameter:g} mm",
                              word=word, size=size, diameter=diameter),
                Message("{most:g} mm at most", most=limit))
    if record.pointed and cutter.tip == diameter:
        yield Disagreement(
            "tip", Message("a tip of {tip:g} mm leaves no cone on the {kind} of {diameter:g} mm",
                           tip=cutter.tip, kind=cutter.kind, diameter=diameter),
            Message("the flat at the point is smaller; or it is an end mill"))
    if record.threads and cutter.pitch is not None and THREAD_INSIDE * cutter.pitch >= diameter:
        yield Disagreement(
            "pitch", Message("a pitch of {pitch:g} mm leaves nothing of the {kind} of {diameter:g} "
                             "mm", pitch=cutter.pitch, kind=cutter.kind, diameter=diameter),
            Message("look at pitch and diameter"))
    if cutter.run_out is not None and cutter.run_out > diameter / 4:
        yield Disagreement(
            "run-out", Message("run-out {run_out:g} mm is more than a quarter of the diameter",
                               run_out=cutter.run_out),
            Message("it is the dial's whole swing, in the units of the file"))
    if cutter.edge_radius is not None and cutter.edge_radius > diameter / 4:
        yield Disagreement(
            "edge-radius", Message("an edge rounded by {radius:g} mm is none on a cutter of "
                                   "{diameter:g} mm", radius=cutter.edge_radius,
                                   diameter=diameter),
            Message("it is the sharpness of the edge, some thousandths of a millimetre"))


def _lengths(cutter: Cutter, record: CutterRecord) -> Iterator[Disagreement]:
    """What stands out against what must stand out."""
    reach = cutter.reach
    if cutter.flute_length and reach and cutter.flute_length > reach:
        yield Disagreement(
            "reach", Message("flute length {flute:g} mm is more than what stands out, {reach:g} "
                             "mm", flute=cutter.flute_length, reach=reach),
            Message("reach counts from the collet to the point"))
    if reach is None:
        return
    if record.on_arbor:
        edge = profile_of(cutter).edge
        if reach < edge.high - edge.low:
            yield Disagreement(
                "reach", Message("a reach of {reach:g} mm leaves the {kind}, {wide:g} mm wide, "
                                 "inside its holder", reach=reach, kind=cutter.kind,
                                 wide=edge.high - edge.low),
                Message("reach counts from the holder to the far side of the edge"))
            return
        yield from _holder_at_work(cutter, reach - (edge.high - edge.low) / 2)
        return
    end = _end_height(cutter, record)
    if reach < end:
        yield Disagreement(
            "reach", Message("the end alone of the {kind} of {diameter:g} mm is {end:.3g} mm high, "
                             "and {reach:g} mm stand out", kind=cutter.kind,
                             diameter=cutter.diameter, end=end, reach=reach),
            Message("reach counts from the collet to the point"))


def _end_height(cutter: Cutter, record: CutterRecord) -> float:
    """How high the point or the round of an end is, mm; 0 for others.

    The cone of a pointed cutter may begin within the collet: it is taken to stand out as a whole.
    """
    if record.pointed or not (record.conical or cutter.corner > 0):
        return 0.0
    return next(z for r, z in profile_of(cutter).edge.outline if r >= cutter.diameter / 2 - 1e-9)


def _holder_at_work(cutter: Cutter, above: float) -> Iterator[Disagreement]:
    """Whether a holder leaves room for the wheel that a form cutter was made for.

    The work turns about an axis across the cutter's: it reaches as far up the cutter's axis as it
    is large, about modules times teeth across. There the holder must lie within the disc, less the
    depth of a space of about two and a half modules. ``above`` mm is the holder's lower end over
    the middle of the edge.
    """
    made, holder = cutter.made_for, cutter.holder
    if made is None or holder is None:
        return
    work, deep = made.module * made.teeth / 2, made.depth_said or 2.5 * made.module
    if above < work and holder / 2 > cutter.diameter / 2 - deep:
        yield Disagreement(
            "holder", Message("a holder of {holder:g} mm, {above:g} mm above the middle of the "
                              "edge, would run into the work: it is {across:.3g} mm across, and "
                              "the cutter of {diameter:g} mm does not reach past it",
                              holder=holder, above=above, across=2 * work,
                              diameter=cutter.diameter),
            Message("a reach that leaves more than {room:.3g} mm between the edge and the holder, "
                    "or a holder under {holder:.3g} mm", room=work,
                    holder=cutter.diameter - 2 * deep))


def _widths(cutter: Cutter, record: CutterRecord) -> Iterator[Disagreement]:
    """Shank, collar and holder against the diameter and one another."""
    diameter = cutter.diameter
    if cutter.arbor and cutter.arbor >= diameter:
        yield Disagreement(
            "arbor", Message("the collar, {collar:g} mm, is as large as the cutter, {diameter:g} "
                             "mm", collar=cutter.arbor, diameter=diameter),
            Message("the collar is smaller, for the work passes beneath it"))
    if record.on_arbor and cutter.shank and cutter.shank >= diameter:
        yield Disagreement(
            "shank", Message("a shank of {shank:g} mm is as thick as the {kind} of {diameter:g} "
                             "mm", shank=cutter.shank, kind=cutter.kind, diameter=diameter),
            Message("the shank is thinner, for the work passes beneath it"))
    if record.can(Ability.BORE) and cutter.shank and cutter.shank >= diameter:
        yield Disagreement(
            "shank", Message("a bar of {shank:g} mm does not go into a hole of {diameter:g} mm",
                             shank=cutter.shank, diameter=diameter), Message("take a thinner bar"))
    if record.edge is EdgeForm.FORM and cutter.thickness and cutter.thickness >= diameter:
        yield Disagreement(
            "thickness", Message("a disc {thickness:g} mm thick and {diameter:g} mm across is "
                                 "none", thickness=cutter.thickness, diameter=diameter),
            Message("look at thickness and diameter"))
    gripped = next((part for part in reversed(profile_of(cutter).parts)
                    if part.name is PartName.SHANK and not part.word), None)
    if cutter.holder and gripped is not None and cutter.holder <= 2 * gripped.radius:
        yield Disagreement(
            "holder", Message("a holder of {holder:g} mm cannot grip a shank of {shank:g} mm",
                              holder=cutter.holder, shank=2 * gripped.radius),
            Message("holder is the outer diameter of the nut or holder"))
