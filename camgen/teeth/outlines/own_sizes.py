"""Sizes that a wheel has of its own, as one measures them on a wheel that exists already.

What is said of tip, root, height or width stands in the place of what the form gives; the rest of
the tooth follows the form. Each is bounded by what it can mean: tips above the pitch circle, roots
with a body below them, teeth no wider than the mate's spaces. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from camgen.faults import Fault, Refused, no_less, no_more
from camgen.messages import Message
from camgen.teeth.form import Asked, Choice, OwnWord, Size
from camgen.values import dataclass

__all__ = ["ADDENDUM_HEIGHT", "DRIVER", "OWN_SIZES", "ROOT_DIAMETER", "TIP_DIAMETER",
           "TOOTH_WIDTH", "OwnSizes", "Span", "UsualSizes", "pinion_drives"]

TIP_DIAMETER: OwnWord[float | None] = OwnWord(
    "tip_diameter", Size(), None,
    "diameter over the tips where it is not the form's own, as measured on a wheel that exists",
    "diameter over the tips of the wheel it was made for, where not the form's own")
ROOT_DIAMETER: OwnWord[float | None] = OwnWord(
    "root_diameter", Size(), None,
    "diameter at the roots where it is not the form's own, as measured on a wheel that exists",
    "diameter at the roots of the wheel it was made for, where not the form's own")
ADDENDUM_HEIGHT: OwnWord[float | None] = OwnWord(
    "addendum_height", Size(), None,
    "height of the teeth above the pitch circle, where it is not the form's own",
    "height of the teeth above the pitch circle, where not the form's own")
TOOTH_WIDTH: OwnWord[float | None] = OwnWord(
    "tooth_width", Size(), None,
    "width of a tooth along the pitch circle, where it is not the form's own",
    "width of a tooth along the pitch circle, where not the form's own", by_cutter=True)
OWN_SIZES = (TIP_DIAMETER, ROOT_DIAMETER, ADDENDUM_HEIGHT, TOOTH_WIDTH)

DRIVER: OwnWord[str] = OwnWord(
    "driver", Choice(("wheel", "pinion")), "wheel",
    "which of the pair drives: the pinion in motion work, else the wheel",
    "which of the pair drives", of_pair=True)

# Two figures for one size may differ by what is rounded off both, mm.
ROUNDED = 0.0005
# A module so many times another is a slip of the point or of units, and not another module.
ANOTHER = 2.0
# A tip this near to the form's own is the form's own, mm.
SAME = 1e-9


def pinion_drives(own: Mapping[str, Any]) -> bool:
    """Whether by its words a pair is one in which the pinion drives."""
    return bool(own.get(DRIVER.name, DRIVER.default) == "pinion")


@dataclass(frozen=True, slots=True)
class Span:
    """What a size is by its form, in modules, and between what it may be said instead."""

    usual: float
    least: float
    most: float

    @staticmethod
    def about(usual: float, down_to: float, up_to: float) -> Span:
        """Between two multiples of the usual size."""
        return Span(usual, down_to * usual, up_to * usual)


@dataclass(frozen=True, slots=True)
class UsualSizes:
    """What a form gives by itself: above and below the pitch circle, and along it."""

    addendum: Span
    dedendum: Span
    width: Span


@dataclass(frozen=True, slots=True)
class OwnSizes:
    """Radii and width of a tooth, mm.

    ``usual_tip`` is the tip radius that the form has by itself; ``tip_said`` whether another or the
    same was said.
    """

    tip: float
    root: float
    width: float
    usual_tip: float
    tip_said: bool

    @staticmethod
    def of(asked: Asked, usual: UsualSizes) -> OwnSizes:
        """The sizes asked for. Raises Refused with every one that cannot be."""
        module, pitch = asked.module, asked.teeth * asked.module / 2.0
        faults = [*_tip_faults(asked, usual.addendum), *_root_faults(asked, usual.dedendum),
                  *_width_faults(asked, usual.width)]
        usual_tip = pitch + usual.addendum.usual * module
        tip = _tip(asked)
        root = asked.of(ROOT_DIAMETER)
        found = OwnSizes(
            usual_tip if tip is None else tip / 2.0,
            pitch - usual.dedendum.usual * module if root is None else root / 2.0,
            _or_usual(asked.of(TOOTH_WIDTH), usual.width.usual * module), usual_tip,
            tip is not None)
        if root is not None and tip is not None and root >= tip:
            # Said once, and not as two sizes that are each out of bounds.
            faults = [Fault(
                Message("root-diameter {root:g} mm is not smaller than the diameter over the "
                        "tips, {tip:.3f} mm", root=root, tip=tip),
                Message("look whether the two were exchanged: the larger is tip-diameter"))]
        if faults:
            raise Refused(faults)
        return found

    @property
    def topped(self) -> bool:
        """Whether the tip circle is below what the form has by itself."""
        return self.tip < self.usual_tip - SAME

    @property
    def raised(self) -> bool:
        """Whether the tip circle is above what the form has by itself."""
        return self.tip > self.usual_tip + SAME


def _or_usual(said: float | None, usual: float) -> float:
    return usual if said is None else said


def _tip(asked: Asked) -> float | None:
    """Diameter over the tips as said, by itself or by the height; None where neither is."""
    tip, height = asked.of(TIP_DIAMETER), asked.of(ADDENDUM_HEIGHT)
    if tip is None and height is not None:
        return asked.teeth * asked.module + 2.0 * height
    return tip


def _tip_faults(asked: Asked, span: Span) -> list[Fault]:
    said, height, tip = asked.of(TIP_DIAMETER), asked.of(ADDENDUM_HEIGHT), _tip(asked)
    teeth, module = asked.teeth, asked.module
    pitch = teeth * module
    if tip is None:
        return []
    if said is not None and height is not None and abs(pitch + 2 * height - said) > 2 * ROUNDED:
        return [Fault(
            Message("tip-diameter {tip:g} mm and addendum-height {height:g} mm do not agree: "
                    "{teeth} teeth of module {module:g} so high are {other:.3f} mm over the tips",
                    tip=said, height=height, teeth=teeth, module=module,
                    other=pitch + 2 * height),
            Message("leave one of them out"))]
    low, high = pitch + 2 * span.least * module, pitch + 2 * span.most * module
    if low - ROUNDED <= tip <= high + ROUNDED:
        return []
    if said is None:
        return [Fault(
            Message("teeth of module {module:g} do not stand {height:g} mm above their pitch "
                    "circle", module=module, height=height),
            Message("write addendum-height: {least} to {most}, or look at the module",
                    least=no_less((low - pitch) / 2), most=no_more((high - pitch) / 2)))]
    fit = said / (teeth + 2 * span.usual)
    return [Fault(
        Message("tip-diameter {tip:g} mm does not go with {teeth} teeth of module {module:g}: "
                "their pitch circle is {pitch:.3f} mm and they are {low:.3f} to {high:.3f} mm over "
                "the tips", tip=said, teeth=teeth, module=module, pitch=pitch, low=low, high=high),
        Message("count the teeth and measure again; with so many teeth, module: {fit:.5f} would "
                "give this diameter", fit=fit) if 1 / ANOTHER < fit / module < ANOTHER else
        Message("look at its decimal point and at the units of the file: such teeth are "
                "{usual:.3f} mm over the tips by their form", usual=pitch + 2 * span.usual * module)
        )]


def _root_faults(asked: Asked, span: Span) -> list[Fault]:
    root, module = asked.of(ROOT_DIAMETER), asked.module
    pitch = asked.teeth * module
    low, high = pitch - 2 * span.most * module, pitch - 2 * span.least * module
    if root is None or low - ROUNDED <= root <= high + ROUNDED:
        return []
    return [Fault(
        Message("root-diameter {root:g} mm does not go with {teeth} teeth of module {module:g}, "
                "whose pitch circle is {pitch:.3f} mm", root=root, teeth=asked.teeth,
                module=module, pitch=pitch),
        Message("root-diameter: {least} to {most}, or look at teeth and module",
                least=no_less(max(low, 0.0)), most=no_more(high)))]


def _width_faults(asked: Asked, span: Span) -> list[Fault]:
    width, module = asked.of(TOOTH_WIDTH), asked.module
    low, high = span.least * module, span.most * module
    if width is None or low - ROUNDED <= width <= high + ROUNDED:
        return []
    if width < low:
        return [Fault(
            Message("teeth {width:g} mm wide at the pitch circle are too thin for module "
                    "{module:g}", width=width, module=module),
            Message("tooth-width: {least} to {most}, or look at the module", least=no_less(low),
                    most=no_more(high)))]
    return [Fault(
        Message("teeth {width:g} mm wide at the pitch circle do not go into the mate's spaces: "
                "from one tooth to the next are {pitch:.3f} mm", width=width,
                pitch=math.pi * module),
        Message("tooth-width: {least} to {most}, or look at the module", least=no_less(low),
                most=no_more(high)))]
