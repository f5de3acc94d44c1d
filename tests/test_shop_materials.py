"""The table of materials, and a workshop's own values over it."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from camgen.faults import Refused
from camgen.shop.materials import edge_material, find_material, material_names
from camgen.shop.tables import Quantity, blocks, rule, source

SINGLE = ("density", "kc1", "mc", "chip_load", "chip_most", "drill_feed", "form_chip", "slot_depth",
          "chip_bulk", "least_chip")
DATA = Path("camgen/shop/data")


@pytest.mark.parametrize("name", [
    "brass-leaded", "brass-plain", "copper-beryllium", "nickel-silver", "gold-375-yellow",
    "gold-375-white", "gold-375-red", "gold-585-yellow", "gold-585-white", "gold-585-red",
    "gold-750-yellow", "gold-750-white", "gold-750-red", "silver-925", "pinion-steel",
    "tool-steel-annealed", "spring-steel-blued", "stainless-316l", "titanium-grade-5", "aluminium",
    "acetal", "epoxy-glass"])
def test_the_materials_of_a_watchmakers_shop_are_there(name: str) -> None:
    assert find_material(name).name == name


@pytest.mark.parametrize(("said", "meant"), [
    ("brass", "brass-leaded"), ("gold-750", "gold-750-yellow"), ("German silver", "nickel-silver"),
    ("POM", "acetal"), ("316L", "stainless-316l"), ("CuBe2", "copper-beryllium"),
    ("silver steel", "tool-steel-annealed")])
def test_materials_answer_to_their_other_names(said: str, meant: str) -> None:
    assert find_material(said).name == meant


def test_no_two_materials_share_a_name() -> None:
    names = list(blocks("materials"))
    for text in blocks("materials").values():
        entry = next(iter(yaml.safe_load(text).values()))
        names += [str(other).lower() for other in entry.get("also", [])]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("name", material_names())
def test_every_value_has_unit_range_source_and_date(name: str) -> None:
    material = find_material(name)
    values: list[Quantity] = [getattr(material, word) for word in SINGLE]
    values += material.surface_speed.values()
    for value in values:
        assert value.low <= value.value <= value.high
        assert value.low > 0
        assert value.unit
        assert value.date
        told = source(value.source)
        assert told.text
        assert told.kind in ("standard", "paper", "memory", "practice", "estimate")
    assert "carbide" in material.surface_speed


def test_the_groups_of_vdi_3323() -> None:
    # Reference list, from memory: groups 26 and 27 kc1 700 mc 0.27, group 4 kc1 1700 mc 0.24.
    for name, group, kc1, mc in (("brass-leaded", "N26", 700, 0.27), ("brass-plain", "N27", 700,
                                                                    0.27),
                                 ("pinion-steel", "P4", 1700, 0.24)):
        material = find_material(name)
        assert (material.group, material.kc1.value, material.mc.value) == (group, kc1, mc)


def test_diamond_and_iron_do_not_meet() -> None:
    for name in material_names():
        material = find_material(name)
        if material.group[0] in "PMHS":
            assert "diamond" not in material.surface_speed
    assert "hss" not in find_material("spring-steel-blued").surface_speed


@pytest.mark.parametrize(("name", "word"), [
    ("brass", "lead"), ("copper-beryllium", "dust"), ("titanium", "burns"), ("pinion-steel", "hot"),
    ("epoxy-glass", "dust"), ("acetal", "formaldehyde"), ("gold-750", "chip")])
def test_cautions_travel_with_the_material(name: str, word: str) -> None:
    assert word in " ".join(find_material(name).cautions).lower()


def test_carbide_and_high_speed_steel_are_as_in_the_reference_list() -> None:
    # From memory: carbide E near 600 GPa, rupture 3 to 4 GPa; HSS E near 210 GPa.
    assert edge_material("carbide").modulus == 600e3
    assert 3000 <= edge_material("carbide").bending_strength <= 4000
    assert edge_material("hss").modulus == 210e3
    assert rule("fluted-diameter").value == 0.8  # Kops and Vo


def test_chips_of_steel_are_within_the_published_starting_chart() -> None:
    # mm a tooth for carbide end mills in steel: Ø1.5 0.005, Ø3 0.013, Ø6 0.025, Ø10 0.050.
    low, high = find_material("tool-steel-annealed"), find_material("pinion-steel")
    for diameter, chip in ((1.5, 0.005), (3.0, 0.013), (6.0, 0.025), (10.0, 0.050)):
        assert low.chip_load.low * diameter <= chip <= high.chip_load.high * diameter


def test_the_tables_are_plain_yaml_with_every_value_sourced() -> None:
    for path in sorted(DATA.glob("*.yaml")):
        parsed = yaml.safe_load(path.read_text(encoding="utf-8"))
        assert set(parsed) == set(blocks(path.stem))

    def look(entry: object) -> int:
        if isinstance(entry, dict):
            if "value" in entry:
                assert source(entry["source"]).date
                assert entry["unit"]
                return 1
            return sum(look(value) for value in entry.values())
        return 0

    for name in ("materials", "cutter-materials", "rules", "pure-metals"):
        parsed = yaml.safe_load((DATA / f"{name}.yaml").read_text(encoding="utf-8"))
        assert look(parsed) >= 5


def test_an_unknown_material_gets_the_nearest_name() -> None:
    with pytest.raises(Refused, match="did you mean brass"):
        find_material("bras")
    with pytest.raises(Refused, match="known are"):
        find_material("xyzzy")


def own(folder: Path, text: str) -> Path:
    (folder / "materials.yaml").write_text(text, encoding="utf-8")
    return folder


def test_a_workshops_value_overrides_the_shipped_one_and_says_so(tmp_path: Path) -> None:
    shop = own(tmp_path, """\
brass-leaded:
  kc1: {value: 780, source: our own force trials, date: 2026-05}
  surface-speed:
    carbide: 140
""")
    ours, shipped = find_material("brass", shop), find_material("brass")
    assert (ours.kc1.value, ours.kc1.own, ours.kc1.source) == (780, True, "our own force trials")
    assert ours.surface_speed["carbide"].value == 140
    assert ours.surface_speed["hss"] == shipped.surface_speed["hss"]
    assert ours.mc == shipped.mc
    assert set(ours.own) == {"kc1", "surface-speed carbide"}
    assert shipped.own == ()


def test_a_new_material_takes_the_rest_from_the_one_it_is_like(tmp_path: Path) -> None:
    shop = own(tmp_path, "bell-bronze:\n  like: brass-plain\n  title: bronze\n  kc1: 900\n")
    bronze = find_material("bell bronze", shop)
    assert bronze.title == "bronze"
    assert bronze.density == find_material("brass-plain").density
    assert "bell-bronze" in material_names(shop)


def test_a_workshop_adds_cautions_and_takes_none_away(tmp_path: Path) -> None:
    shop = own(tmp_path, "copper-beryllium:\n  cautions: [wear the blue gloves]\n")
    ours = find_material("copper-beryllium", shop).cautions
    assert ours[:-1] == find_material("copper-beryllium").cautions
    assert ours[-1] == "wear the blue gloves"


@pytest.mark.parametrize(("text", "line", "said"), [
    ("brass-leaded:\n  kc1: 7000\n  kc2: 5\n", 3, "kc2 is not a word"),
    ("brass-leaded:\n  kc1: 70000\n", 2, "look at the decimal point"),
    ("brass-leaded:\n  kc1: -3\n", 2, "a number more than 0"),
    ("brass-leaded:\n  kc1: {value: 700, units: N/mm2}\n", 2, "units is not a word"),
    ("brass-leaded:\n  kc1: {value: 700, unit: psi}\n", 2, "given in N/mm2, not in psi"),
    ("brass-leaded:\n  density: {value: 8.4, low: 8.5}\n", 2, "is not between"),
    ("brass-leaded:\n  surface-speed: 100\n", 2, "for each cutter material"),
    ("brass-leaded:\n  surface-speed:\n    carbid: 100\n", 3, "carbid is not a cutter material"),
    ("brass-leaded: 7\n", 1, "values of the material are wanted"),
    ("my-brass:\n  kc1: 700\n", 1, "say with `like`"),
    ("my-brass:\n  like: bras\n", 2, "no material called 'bras'"),
])
def test_faults_of_a_workshops_table_name_their_line(tmp_path: Path, text: str, line: int,
                                                     said: str) -> None:
    shop = own(tmp_path, text)
    name = "my-brass" if text.startswith("my") else "brass"
    with pytest.raises(Refused) as no:
        find_material(name, shop)
    words = str(no.value)
    assert said in words
    assert any(fault.place.line == line for fault in no.value.faults), words


def test_all_faults_of_a_workshops_table_are_told_at_once(tmp_path: Path) -> None:
    shop = own(tmp_path, "brass-leaded:\n  kc1: -3\n  mc: none\n  colour: yellow\n")
    with pytest.raises(Refused) as no:
        find_material("brass", shop)
    assert len(no.value.faults) == 3


def test_the_examples_of_a_new_workshop_are_understood(tmp_path: Path) -> None:
    text = Path("camgen/commands/workshop/materials.yaml").read_text(encoding="utf-8")
    for name in (key for key in yaml.safe_load(text)):
        assert find_material(name, own(tmp_path, text)).own
