"""Materials: what is known of each, with its source, and what the workshop knows better.

The shipped table is ``data/materials.yaml``. A workshop folder may hold a ``materials.yaml`` of the
same shape: it overrides the shipped table value by value, and a material new to the table says
with ``like`` which one it resembles.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from camgen.faults import Fault, Refused, did_you_mean, either, nearest
from camgen.messages import NOTHING, Message, tabled
from camgen.shop.cutters import Cutter, CutterMaterial
from camgen.shop.tables import Quantity, block, blocks, quantity
from camgen.values import dataclass
from camgen.yamlfile import DataPath, Document, read_yaml

__all__ = ["EdgeMaterial", "Material", "also_called", "edge_material", "edge_of",
           "find_material", "material_names"]

OWN_TABLE = "materials.yaml"
_SINGLE = ("density", "kc1", "mc", "chip_load", "chip_most", "drill_feed", "form_chip",
           "slot_depth", "chip_bulk", "least_chip")
_CUTTERS: tuple[CutterMaterial, ...] = ("hss", "carbide", "diamond")
_ALSO = re.compile(r"^  also: \[([^\]]*)\]", re.MULTILINE)
# A workshop's value outside these factors of the shipped one is taken for a slip of the pen.
_FARTHEST = 10.0


@dataclass(frozen=True)
class Material:
    """One material.

    ``group`` is the letter of ISO 513 and the group number of VDI 3323. ``density`` g/cm³; ``kc1``
    N/mm² and ``mc`` of Kienzle's law with the chip in mm; ``surface_speed`` m/min by cutter
    material, one that is missing must not be used; ``chip_load`` and ``slot_depth`` as shares of an
    end mill's diameter, ``chip_most`` mm; ``drill_feed`` a turn as a share of the drill's diameter;
    ``form_chip`` mm a tooth of a form cutter; ``chip_bulk`` room of the chips over the solid metal;
    ``least_chip`` as a share of the edge radius. ``fineness`` is parts in a thousand of
    ``fine_metal`` and None for base metals. ``own`` names the values the workshop's table gave.
    """

    name: str
    title: str
    group: str
    density: Quantity
    kc1: Quantity
    mc: Quantity
    surface_speed: Mapping[CutterMaterial, Quantity]
    chip_load: Quantity
    chip_most: Quantity
    drill_feed: Quantity
    form_chip: Quantity
    slot_depth: Quantity
    chip_bulk: Quantity
    least_chip: Quantity
    cautions: tuple[str, ...] = ()
    fineness: Quantity | None = None
    fine_metal: str = ""
    composition: Mapping[str, float] | None = None
    own: tuple[str, ...] = ()


@dataclass(frozen=True)
class EdgeMaterial:
    """What a cutter is made of: ``modulus`` and strengths N/mm², edge radii mm.

    A new edge has the radius ``edge_base`` + ``edge_share`` × diameter, at most ``edge_most``.
    """

    name: CutterMaterial
    title: str
    modulus: float
    bending_strength: float
    shear_strength: float
    edge_base: float
    edge_share: float
    edge_most: float


@lru_cache(maxsize=4)
def edge_material(name: CutterMaterial) -> EdgeMaterial:
    """What is known of a cutter material.

    >>> edge_material("carbide").modulus
    600000.0
    """
    entry = block("cutter-materials", name)
    values = {key.replace("-", "_"): float(item["value"]) for key, item in entry.items()
              if isinstance(item, dict)}
    return EdgeMaterial(name, str(entry["title"]), **values)


def edge_of(cutter: Cutter) -> EdgeMaterial:
    """What a cutter is made of, its maker's own figures put in where they are known.

    Where the maker gives a bending strength, the strength in shear is taken in proportion.

    >>> edge_of(Cutter(kind="end-mill", diameter=1, modulus=580e3)).modulus
    580000.0
    """
    found = edge_material(cutter.material)
    if cutter.modulus is not None:
        found = replace(found, modulus=cutter.modulus)
    if cutter.strength is not None:
        found = replace(found, bending_strength=cutter.strength, shear_strength=(
            found.shear_strength * cutter.strength / found.bending_strength))
    return found


@lru_cache(maxsize=1)
def _aliases() -> Mapping[str, str]:
    """Every name a shipped material goes by, in small letters, with its own name."""
    return {name: name for name in blocks("materials")} | {
        other.lower(): name for name in blocks("materials") for other in also_called(name)}


def material_names(workshop: Path | None = None) -> tuple[str, ...]:
    """The names of all materials, the shipped ones first.

    Raises Refused when the workshop's table cannot be read.
    """
    own = _own_table(workshop)
    more = tuple(str(key) for key in own.data if key not in blocks("materials")) if own else ()
    return (*blocks("materials"), *more)


def also_called(name: str) -> tuple[str, ...]:
    """The other names of a shipped material; none of one that is the workshop's own.

    >>> also_called("brass-leaded")[0]
    'brass'
    """
    found = _ALSO.search(blocks("materials").get(name, ""))
    return tuple(one.strip() for one in found[1].split(",")) if found else ()


def find_material(name: str, workshop: Path | None = None) -> Material:
    """The material called ``name``, or known as it, with the workshop's own values put in.

    ``workshop`` is the folder that may hold a ``materials.yaml``. Raises Refused with the nearest
    name when there is none such, and with every fault of the workshop's table.

    >>> find_material("brass").name
    'brass-leaded'
    >>> find_material("brass").kc1.value
    700.0
    """
    own = _own_table(workshop)
    word = "-".join(name.strip().lower().split())
    if own is not None and word in own.data:
        return _own_material(word, own)
    shipped = _aliases().get(word)
    if shipped is None:
        known = [*_aliases(), *(own.data if own else ())]
        raise Refused(Fault(
            Message("no material called '{name}' is known", name=name),
            did_you_mean(word, known, Message(
                "known are: {names}. A workshop's own go into its {file}",
                names=material_names(workshop), file=OWN_TABLE))))
    if own is not None and shipped in own.data:
        return _own_material(shipped, own)
    return _shipped(shipped)


@lru_cache(maxsize=64)
def _shipped(name: str) -> Material:
    entry = block("materials", name)
    fineness = entry.get("fineness")
    single: dict[str, Any] = {word: quantity(entry[word.replace("_", "-")]) for word in _SINGLE}
    return Material(
        name=name, title=tabled(str(entry["title"]), "materials"),
        group=str(entry["group"]),
        surface_speed={cutter: quantity(entry["surface-speed"][cutter]) for cutter in _CUTTERS
                       if cutter in entry["surface-speed"]},
        cautions=tuple(" ".join(text.split()) for text in entry["cautions"]),
        fineness=quantity(fineness) if fineness else None,
        fine_metal=str(entry.get("fine-metal", "")),
        composition=entry.get("composition"),
        **single,
    )


# --- the workshop's own table -------------------------------------------------------------------


def _own_table(workshop: Path | None) -> Document | None:
    if workshop is None or not os.path.lexists(workshop / OWN_TABLE):
        return None
    own = read_yaml(workshop / OWN_TABLE)
    if not isinstance(own.data, dict):
        raise Refused(Fault(
            Message("the table of materials is not a list of names with their values"),
            Message("write a material's name, a colon, and its values indented beneath"),
            own.place()))
    faults = [Fault(Message("{name}: values of the material are wanted", name=key),
                    Message("indent them beneath its name"),
                    own.place((key,))) for key, entry in own.data.items()
              if not isinstance(entry, dict)]
    if faults:
        raise Refused(faults)
    return own


def _own_material(name: str, own: Document) -> Material:
    """A material with the workshop's values in place of the shipped ones. Raises Refused."""
    entry: dict[str, Any] = own.data[name]
    base_name = _aliases().get(str(entry.get("like", name)).lower())
    if base_name is None:
        near = nearest(str(entry.get("like", name)), _aliases())
        raise Refused(Fault(
            Message("{name} is new: say with `like` which known material it resembles", name=name)
            if "like" not in entry
            else Message("like: no material called '{like}' is known", like=entry["like"]),
            Message("did you mean {near}? Every value that is not given is taken from that one",
                    near=near) if near
            else Message("every value that is not given is taken from that one"),
            own.place((name, "like")) if "like" in entry else own.place((name,), key=True)))
    base = _shipped(base_name)
    faults: list[Fault] = []
    changed: dict[str, Any] = {"name": name}
    taken: list[str] = []
    for word, value in entry.items():
        field = word.replace("-", "_")
        path: DataPath = (name, word)
        if word == "like":
            continue
        if word in ("title", "group"):
            changed[field] = str(value)
        elif word == "cautions":
            more = value if isinstance(value, tuple) else (value,)
            # A workshop may add a caution, never take one away.
            changed[field] = (*base.cautions, *(str(text) for text in more))
        elif word == "fineness":
            changed[field] = _own_quantity(own, path, base.fineness, "per mille", faults)
        elif word == "fine-metal":
            changed[field] = str(value)
        elif field in _SINGLE:
            shipped: Quantity = getattr(base, field)
            changed[field] = _own_quantity(own, path, shipped, shipped.unit, faults)
        elif word == "surface-speed":
            changed[field] = _own_speeds(own, path, base, faults, taken)
            continue
        else:
            known = [*(single.replace("_", "-") for single in _SINGLE), "like", "title", "group",
                     "cautions", "fineness", "fine-metal", "surface-speed"]
            faults.append(Fault(Message("{word} is not a word of a material", word=word),
                                did_you_mean(word, known, Message("take it out")),
                                own.place(path, key=True)))
            continue
        taken.append(word)
    if faults:
        raise Refused(faults)
    values = {field: getattr(base, field) for field in Material.__dataclass_fields__}
    return Material(**{**values, **changed, "own": tuple(taken)})


def _own_speeds(own: Document, path: DataPath, base: Material, faults: list[Fault],
                taken: list[str]) -> Mapping[CutterMaterial, Quantity]:
    speeds = dict(base.surface_speed)
    given = own.get(path)
    if not isinstance(given, dict):
        faults.append(Fault(Message("surface-speed is given for each cutter material"),
                            Message("such as {example}", example="{carbide: 150}"),
                            own.place(path)))
        return speeds
    for word in given:
        if word not in _CUTTERS:
            faults.append(Fault(Message("{word} is not a cutter material", word=word),
                                did_you_mean(word, _CUTTERS, either(_CUTTERS)),
                                own.place((*path, word), key=True)))
            continue
        cutter: CutterMaterial = word
        found = _own_quantity(own, (*path, word), speeds.get(cutter), "m/min", faults)
        if found is not None:
            speeds[cutter] = found
            taken.append(f"surface-speed {word}")
    return speeds


def _own_quantity(own: Document, path: DataPath, shipped: Quantity | None, unit: str,
                  faults: list[Fault]) -> Quantity | None:
    """A workshop's value: a bare number, or value with low, high, source, date."""
    given = own.get(path)
    entry: dict[str, Any] = given if isinstance(given, dict) else {"value": given}
    known = ("value", "low", "high", "unit", "source", "date")
    wrong = [word for word in entry if word not in known]
    for word in wrong:
        faults.append(Fault(Message("{word} is not a word of a value", word=word),
                            Message("allowed: {words}", words=known),
                            own.place((*path, word), key=True)))
    numbers: dict[str, float] = {}
    for word in ("value", "low", "high"):
        number = entry.get(word)
        at = (*path, word) if isinstance(given, dict) else path
        if number is None and word != "value":
            continue
        if isinstance(number, bool) or not isinstance(number, (int, float)) \
                or not 0 < number < float("inf"):
            faults.append(Fault(
                Message("{word}: a number more than 0 is wanted", word=path[-1]),
                Message("in {unit}", unit=unit) if unit != "1" else NOTHING, own.place(at)))
            return shipped
        if shipped is not None and not (shipped.low / _FARTHEST <= number
                                        <= shipped.high * _FARTHEST):
            faults.append(Fault(
                Message("{word}: {number:g} is more than {times:g} times away from the usual "
                        "{low:g} to {high:g}", word=path[-1], number=number, times=_FARTHEST,
                        low=shipped.low, high=shipped.high),
                Message("the value is in {unit}: look at the decimal point", unit=unit),
                own.place(at)))
            return shipped
        numbers[word] = float(number)
    if str(entry.get("unit", unit)) != unit:
        faults.append(Fault(
            Message("{word} is given in {unit}, not in {other}", word=path[-1], unit=unit,
                    other=entry["unit"]), Message("convert the value"),
            own.place((*path, "unit"))))
        return shipped
    value = numbers["value"]
    low, high = numbers.get("low", value), numbers.get("high", value)
    if not low <= value <= high:
        faults.append(Fault(
            Message("{word}: {value:g} is not between {low:g} and {high:g}", word=path[-1],
                    value=value, low=low, high=high),
            Message("give low, value and high in rising order"), own.place(path)))
        return shipped
    # Starting speed raised above the shipped most: the most goes up with it.
    if shipped is not None and unit == "m/min":
        high = max(high, value, shipped.high if "high" not in numbers else high)
        low = min(low, shipped.low if "low" not in numbers else low)
    return Quantity(value, unit, low, high, str(entry.get("source", "the workshop's table")),
                    str(entry.get("date", "")), own=True)
