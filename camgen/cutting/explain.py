"""An answer in words, the same in the terminal, on the sheet and in the report."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from camgen.cutting.answer import CutPlan, Limit
from camgen.messages import NOTHING, Message

__all__ = ["explain", "figure", "limit_rows", "limit_table"]

_WORDS = {"N/mm2": "N/mm²", "N mm": "N·mm"}
# Units that are words.
_SAID: Final[dict[str, Callable[[str], Message]]] = {
    "rev/min": lambda text: Message("{figure} rev/min", figure=text),
    "mm/rev": lambda text: Message("{figure} mm/rev", figure=text),
    "µm/rev": lambda text: Message("{figure} µm/rev", figure=text),
}
# Units that read better a thousand times smaller where the figure is small.
_SMALL = {"mm": "µm", "mm/rev": "µm/rev"}


def figure(value: float, unit: str = "") -> str:
    """A figure with three places that count, and its unit; lengths under 0.1 mm in micrometres.

    >>> figure(0.0043, "mm"), figure(23999.6, "rev/min"), figure(0.143, "mm")
    ('4.3 µm', '24000 rev/min', '0.143 mm')
    """
    if unit in _SMALL and 0.0 < abs(value) < 0.1:
        value, unit = 1000.0 * value, _SMALL[unit]
    text = f"{value:.0f}" if abs(value) >= 100.0 else f"{value:.3g}"
    if unit in _SAID:
        return _SAID[unit](text)
    return f"{text} {_WORDS.get(unit, unit)}".strip()


def explain(cut: CutPlan, loads: bool = True) -> tuple[Message, ...]:
    """Speed, feed, depth and width, each with the limit that governed; loads; what to heed.

    ``loads`` false: less the chip and what it loads the cutter with.

    >>> from camgen.cutting.planner import plan_cut
    >>> from camgen.shop.cutters import parse_cutter
    >>> from camgen.shop.machine import Machine
    >>> from camgen.shop.materials import find_material
    >>> mill = Machine(name="a-mill", describes="an example")
    >>> cut = plan_cut(find_material("brass"), parse_cutter("end-mill 3 2 flutes reach 9"), mill)
    >>> print(explain(cut)[0])
    speed 19098 rev/min, 180 m/min: surface speed
    """
    if not cut.governed_by:
        # A probe cuts nothing.
        return (Message("the spindle stands still; feed {feed}", feed=figure(cut.feed, "mm/min"))
                if cut.feed else Message("the spindle stands still; nothing is fed"),)
    by = cut.governed_by
    depth = figure(cut.depth, "mm")
    lines = [
        Message("speed {speed}, {surface}: {why}", speed=figure(cut.speed, "rev/min"),
                surface=figure(cut.surface_speed, "m/min"), why=by["speed"]),
        Message("feed {feed}, {chip} a tooth: {why}", feed=figure(cut.feed, "mm/min"),
                chip=figure(cut.chip_load, "mm"), why=by["feed"]),
        Message("depth {depth}: {why}; {passes} passes", depth=depth, why=by["depth"],
                passes=cut.passes) if cut.passes > 1
        else Message("depth {depth}: {why}", depth=depth, why=by["depth"]),
        Message("width {width}: {why}", width=figure(cut.width, "mm"), why=by["width"]),
    ]
    if cut.peck:
        lines.append(Message("pecks of {depth}: room for the chips", depth=figure(cut.peck, "mm")))
    if cut.ramp_feed:
        lines.append(Message("down: straight at {feed}, better on a ramp of {angle:g}° at {ramp}",
                             feed=figure(cut.plunge_feed, "mm/min"), angle=cut.ramp_angle,
                             ramp=figure(cut.ramp_feed, "mm/min")))
    if loads:
        lines += _loads(cut)
    lines += [Message("heed: {warning}", warning=warning) for warning in cut.warnings]
    lines += [Message("found here before: {finding}", finding=finding) for finding in cut.findings]
    if cut.own_values:
        lines.append(Message("from the workshop's own table: {words}", words=tuple(
            word.replace("_", "-") for word in cut.own_values)))
    return tuple(lines)


def _loads(cut: CutPlan) -> Iterator[Message]:
    """The chip, and what it loads the cutter with."""
    if cut.peak_chip:
        yield Message("chip {peak} at its thickest, {mean} on the mean",
                      peak=figure(cut.peak_chip, "mm"), mean=figure(cut.mean_chip, "mm"))
    found = []
    if cut.tangential:
        found.append(Message(
            "force {force} ({tangential} along the cut, {radial} square to it)",
            force=figure(cut.force, "N"), tangential=figure(cut.tangential, "N"),
            radial=figure(cut.radial, "N")))
    elif cut.force:
        found.append(Message("thrust {force}", force=figure(cut.force, "N")))
    found += [Message("torque {torque}", torque=figure(cut.torque, "N mm")),
              Message("power {power}", power=figure(cut.power, "W"))]
    if cut.deflection:
        found.append(Message("the tip bends {deflection}",
                             deflection=figure(cut.deflection, "mm")))
    yield Message("loads: {loads}", loads=tuple(found))


def _state(limit: Limit, cut: CutPlan) -> Message:
    if limit.name in cut.governed_by.values():
        return Message("governs")
    return Message("passed on purpose") if limit.share > 1.0 + 1e-6 else NOTHING


def limit_rows(cut: CutPlan) -> tuple[tuple[str, str, str, str, str], ...]:
    """Each limit: name, figure at the answer, bound, share of it used, remark; the nearest first.

    A bound from below is written with ≥.
    """
    return tuple(
        (limit.name, figure(limit.used, limit.unit),
         Message("≥ {bound}", bound=figure(limit.value, limit.unit)) if limit.least
         else Message("≤ {bound}", bound=figure(limit.value, limit.unit)),
         f"{100.0 * limit.share:.0f} %" if limit.share >= 0.01 else "< 1 %", _state(limit, cut))
        for limit in sorted(cut.limits, key=lambda one: -one.share))


def limit_table(cut: CutPlan, say: Callable[[str], str] = str) -> tuple[str, ...]:
    """The limits as lines of a plain table, each word as ``say`` says messages."""
    head = (Message("limit"), Message("here"), Message("bound"), Message("used"), NOTHING)
    rows = [tuple(map(say, row)) for row in (head, *limit_rows(cut))]
    wide = [max(len(row[place]) for row in rows) for place in range(4)]
    return tuple(
        f"{row[0]:<{wide[0]}}  {row[1]:>{wide[1]}}  {row[2]:>{wide[2]}}  {row[3]:>{wide[3]}}  "
        f"{row[4]}".rstrip() for row in rows)
