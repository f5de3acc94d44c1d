"""An answer in words, the same in the terminal, on the sheet and in the report."""

from __future__ import annotations

from camgen.cutting.answer import CutPlan, Limit

__all__ = ["explain", "figure", "limit_rows", "limit_table"]

_WORDS = {"N/mm2": "N/mm²", "N mm": "N·mm"}
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
    return f"{text} {_WORDS.get(unit, unit)}".strip()


def explain(cut: CutPlan) -> tuple[str, ...]:
    """Speed, feed, depth and width, each with the limit that governed; loads; what to heed.

    >>> from camgen.cutting.planner import plan_cut
    >>> from camgen.shop.cutters import parse_cutter
    >>> from camgen.shop.machine import Machine
    >>> from camgen.shop.materials import find_material
    >>> mill = Machine(name="a-mill", describes="an example")
    >>> cut = plan_cut(find_material("brass"), parse_cutter("end-mill 3 2 flutes reach 9"), mill)
    >>> print(explain(cut)[0])
    speed 19098 rev/min, 180 m/min: surface speed
    """
    by = cut.governed_by
    lines = [
        f"speed {figure(cut.speed, 'rev/min')}, {figure(cut.surface_speed, 'm/min')}: "
        f"{by['speed']}",
        f"feed {figure(cut.feed, 'mm/min')}, {figure(cut.chip_load, 'mm')} a tooth: {by['feed']}",
        f"depth {figure(cut.depth, 'mm')}: {by['depth']}"
        + (f"; {cut.passes} passes" if cut.passes > 1 else ""),
        f"width {figure(cut.width, 'mm')}: {by['width']}",
    ]
    if cut.peck:
        lines.append(f"pecks of {figure(cut.peck, 'mm')}: room for the chips")
    if cut.ramp_feed:
        lines.append(f"down: straight at {figure(cut.plunge_feed, 'mm/min')}, better on a ramp of "
                     f"{cut.ramp_angle:g}° at {figure(cut.ramp_feed, 'mm/min')}")
    if cut.peak_chip:
        lines.append(f"chip {figure(cut.peak_chip, 'mm')} at its thickest, "
                     f"{figure(cut.mean_chip, 'mm')} on the mean")
    loads = []
    if cut.tangential:
        loads.append(f"force {figure(cut.force, 'N')} ({figure(cut.tangential, 'N')} along the cut,"
                     f" {figure(cut.radial, 'N')} square to it)")
    elif cut.force:
        loads.append(f"thrust {figure(cut.force, 'N')}")
    loads += [f"torque {figure(cut.torque, 'N mm')}", f"power {figure(cut.power, 'W')}"]
    if cut.deflection:
        loads.append(f"the tip bends {figure(cut.deflection, 'mm')}")
    lines.append("loads: " + ", ".join(loads))
    lines += [f"heed: {warning}" for warning in cut.warnings]
    lines += [f"found here before: {finding}" for finding in cut.findings]
    if cut.own_values:
        lines.append("from the workshop's own table: " + ", ".join(
            word.replace("_", "-") for word in cut.own_values))
    return tuple(lines)


def _state(limit: Limit, cut: CutPlan) -> str:
    if limit.name in cut.governed_by.values():
        return "governs"
    return "passed on purpose" if limit.share > 1.0 + 1e-6 else ""


def limit_rows(cut: CutPlan) -> tuple[tuple[str, str, str, str, str], ...]:
    """Each limit: name, figure at the answer, bound, share of it used, remark; the nearest first.

    A bound from below is written with ≥.
    """
    return tuple(
        (limit.name, figure(limit.used, limit.unit),
         ("≥ " if limit.least else "≤ ") + figure(limit.value, limit.unit),
         f"{100.0 * limit.share:.0f} %" if limit.share >= 0.01 else "< 1 %", _state(limit, cut))
        for limit in sorted(cut.limits, key=lambda one: -one.share))


def limit_table(cut: CutPlan) -> tuple[str, ...]:
    """The limits as lines of a plain table."""
    head = ("limit", "here", "bound", "used", "")
    rows = (head, *limit_rows(cut))
    wide = [max(len(row[place]) for row in rows) for place in range(4)]
    return tuple(
        f"{row[0]:<{wide[0]}}  {row[1]:>{wide[1]}}  {row[2]:>{wide[2]}}  {row[3]:>{wide[3]}}  "
        f"{row[4]}".rstrip() for row in rows)
