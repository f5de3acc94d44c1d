"""Random plates as a watchmaker might ask for them, each a job file's text, drawn by kind and seed.

A kind names what is difficult in it; its sizes are those of watch parts, small, so that a plate is
planned and proved in a fraction of a second. What is drawn need not be possible: then it must be
refused in words of the job. Lengths mm, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from plate_drafts import (
    Draft,
    Words,
    fillet_path,
    island,
    kidney,
    roomy_island,
    round_about,
    star,
)

__all__ = ["KINDS", "random_plate"]


def any_pocket(draft: Draft) -> None:
    """A pocket of any shape, with as small a corner as its last cutter makes, or a little less."""
    rng = draft.rng
    corner = rng.choice((0.25, 0.3, 0.4, 0.45, 0.55))
    shape: Words = {"polygon": round_about(draft, draft.draw(1.5, 2.6), rng.randint(3, 8), 0.5),
                    "corner": corner}
    draft.plate = {"outline": {"circle": 14},
                   "pockets": {"seat": {**shape, "depth": draft.depth()}}}
    draft.pocket(draft.falling(1.9 * corner, rng.choice((1, 1, 2))))


def islands(draft: Draft) -> None:
    """A roomy pocket with islands and round posts, which may stand near its wall."""
    rng = draft.rng
    mill = rng.choice((0.5, 0.6, 0.8, 1.0))
    wide, high = draft.draw(5, 7.5), draft.draw(4.5, 6)
    corner = round(mill / 2 + draft.draw(0.03, 0.4), 2)
    shape: Words = rng.choice((
        {"circle": wide}, {"rectangle": [wide, high], "corner": corner},
        {"rectangle": [wide, high], "corner": corner, "turned": draft.draw(0, 90, 0)},
        {"polygon": round_about(draft, 4.2, 5, 0.15), "corner": corner}))
    cells = rng.sample([(x * 1.25, y * 1.15) for x in (-1, 0, 1) for y in (-1, 0, 1)], 3)
    standing = [roomy_island(draft, list(cell), mill) for cell in cells[:rng.randint(1, 3)]]
    pick = rng.random()
    if pick < 0.25:
        standing = [kidney(draft, draft.draw(0.9, 1.3), draft.draw(0.4, 0.7))]
    draft.plate = {"outline": {"circle": 14}, "pockets": {"well": {
        **shape, "depth": draft.depth(), "islands": standing}}}
    if rng.random() < 0.25:
        at = list(rng.choice(cells))
        draft.plate["posts"] = {"pillar": {"circle": draft.draw(0.5, 0.9), "at": at}}
    draft.pocket(draft.falling(mill, rng.choice((1, 1, 2))))


def rest_cutters(draft: Draft) -> None:
    """One pocket by two or three cutters, with narrow arms and corners for the last."""
    rng = draft.rng
    corner = rng.choice((0.25, 0.3, 0.45))
    pick = rng.random()
    if pick < 0.4:
        shape: Words = {"rectangle": [draft.draw(2.8, 4.4), draft.draw(2.2, 3.6)], "corner": corner,
                        "turned": draft.draw(0, 90, 0)}
    elif pick < 0.7:
        wide, arm = draft.draw(1.2, 1.8), draft.draw(0.9, 1.3)
        shape = {"polygon": [[-wide, -wide], [wide, -wide], [wide, -arm / 2],
                             [wide + 1.4, -arm / 2], [wide + 1.4, arm / 2], [wide, arm / 2],
                             [wide, wide], [-wide, wide]],
                 "corner": min(corner, round(arm / 2 - 0.05, 2))}
    else:
        shape = {"polygon": round_about(draft, 2.4, rng.randint(4, 7), 0.45), "corner": corner}
    pocket = {**shape, "depth": draft.depth()}
    if rng.random() < 0.5:
        pocket["islands"] = [island(draft, 0.7, 0.9)]
    draft.plate = {"outline": {"circle": 16}, "pockets": {"seat": pocket}}
    draft.pocket(draft.falling(1.9 * min(corner, 0.45), rng.choice((2, 3))))


def open_side(draft: Draft) -> None:
    """A pocket over the edge of the part, in a sheet, in a disc, or after the outline."""
    rng = draft.rng
    corner = rng.choice((0.3, 0.45, 0.6))
    size = [draft.draw(2.5, 5), draft.draw(2, 4)]
    shape: Words = rng.choice((
        {"rectangle": size, "corner": corner},
        {"circle": size[0]},
        {"polygon": round_about(draft, 2.5, 5, 0.3), "corner": corner}))
    pocket = {**shape, "at": [draft.draw(4, 6.5), draft.draw(-1, 1)], "depth": draft.depth()}
    if rng.random() < 0.3:
        pocket["islands"] = [island(draft, 0.7, 0.9)]
    outline: Words = rng.choice((
        {"circle": 12}, {"rectangle": [12, 9], "corner": 1.0},
        {"polygon": [[-6, -4], [6, -4], [6, 4], [-6, 4]], "corner": 0.5}))
    draft.plate = {"outline": outline, "pockets": {"side": pocket}}
    if rng.random() < 0.4 and "circle" in outline:
        draft.stock = {"disc": rng.choice((12, 12.4, 14))}
    mills = draft.falling(1.9 * corner, rng.choice((1, 2)))
    if rng.random() < 0.2 and "disc" not in draft.stock:
        draft.steps.append({"outline": {"cutter": draft.mill(1.0)}})
    draft.pocket(mills)


def channels(draft: Draft) -> None:
    """Thin channels, hardly wider than their cutter, straight, bent and crossing a well."""
    rng = draft.rng
    mill = rng.choice((0.4, 0.5, 0.6, 0.8, 1.0))
    wide = round(mill * rng.choice((1.0, 1.02, 1.1, 1.2, 1.35, 1.6, 1.9)), 3)
    long = draft.draw(2, 6)
    deep = draft.draw(0.08, min(0.9 * mill, draft.thickness - 0.2))
    plate: Words = {"outline": {"circle": 16}, "pockets": {}, "slots": {}}
    pick = rng.random()
    if pick < 0.35:
        plate["slots"]["spring"] = {"ends": [[-long / 2, 1], [long / 2, draft.draw(0, 2)]],
                                    "width": wide, "depth": deep}
    elif pick < 0.65:
        turn = math.radians(draft.draw(20, 200))
        radius = draft.draw(2, 4)
        plate["slots"]["click"] = {
            "ends": [[radius, 0], [round(radius * math.cos(turn), 4),
                                   round(radius * math.sin(turn), 4)]],
            "centre": [0, 0], "width": wide, "depth": deep}
    else:
        half, arm = wide / 2, draft.draw(1.5, 3.5)
        plate["pockets"]["keyless"] = {"polygon": [
            [-half, -arm], [half, -arm], [half, -half], [arm, -half], [arm, half], [half, half],
            [half, arm], [-half, arm]], "depth": deep, "corner": round(half - 0.001, 3),
            "turned": draft.draw(0, 90, 0)}
    draft.plate = {key: value for key, value in plate.items() if value}
    draft.pocket([mill] if rng.random() < 0.8 else draft.falling(mill, 2))


def stars(draft: Draft) -> None:
    """A star with five to nine points, as a pocket or as the part itself."""
    rng = draft.rng
    points = rng.randint(5, 9)
    outer = draft.draw(2, 3.2)
    corner = rng.choice((0.26, 0.3, 0.42))
    shape: Words = {"polygon": star(points, outer, round(outer * rng.uniform(0.45, 0.75), 2)),
                    "corner": corner}
    mills = draft.falling(1.9 * corner, rng.choice((1, 2)))
    if rng.random() < 0.6:
        draft.plate = {"outline": {"circle": 14},
                       "pockets": {"star": {**shape, "depth": draft.depth()}}}
        draft.pocket(mills)
    else:
        draft.plate = {"outline": shape}
        draft.steps.append({"outline": {"cutter": draft.mill(mills[-1])}})


def wedges(draft: Draft) -> None:
    """A dial with wedges for its hours, sunk or cut right through."""
    rng = draft.rng
    inner, outer = draft.draw(2.8, 3.4), draft.draw(4.4, 5.2)
    count = rng.choice((6, 8, 12))
    narrow, wide = draft.draw(0.6, 0.8), draft.draw(0.9, 1.2)
    corner = rng.choice((0.21, 0.26, 0.3))
    shape: Words = {"polygon": [[inner, -narrow / 2], [outer, -wide / 2], [outer, wide / 2],
                                [inner, narrow / 2]], "corner": corner}
    hours = {f"hour-{n}": {**shape, "turned": round(360 * n / count, 3)} for n in range(count)}
    mill = draft.within(min(1.95 * corner, narrow - 0.05))
    if rng.random() < 0.65:
        deep = draft.draw(0.06, 0.15)
        if rng.random() < 0.5:
            hours = {"hours": {**shape, "ring": {"count": count, "diameter": 0.002}}}
        draft.plate = {"outline": {"circle": 15},
                       "pockets": {name: {**one, "depth": deep} for name, one in hours.items()}}
        draft.pocket([mill])
    else:
        draft.plate = {"outline": {"circle": 15}, "openings": hours}
        draft.thickness = 0.6
        draft.steps.append({"cut-out": {"cutter": draft.mill(mill)}})


def faced(draft: Draft) -> None:
    """A disc or sheet little larger than the part, faced and then outlined."""
    rng = draft.rng
    size = draft.draw(7, 13)
    draft.over = rng.choice((0.05, 0.1, 0.2, 0.5))
    flat = rng.choice((2.0, 3.0))
    words: Words = {"cutter": draft.mill(flat)}
    if rng.random() < 0.3:
        words["direction"] = rng.choice(("climb", "conventional"))
    draft.steps.append({"face": words})
    mill = rng.choice((0.8, 1.0, 1.5, 2.0))
    more = rng.choice((0.1, 0.3, 0.5, 1.0, 1.6, 2.0, 3.0))
    outline: Words = {"circle": size}
    if rng.random() < 0.3:
        outline = {"rectangle": [size, round(0.7 * size, 2)], "corner": 1.0}
        draft.stock = {"sheet": [round(size + more, 2), round(0.7 * size + more, 2)]}
    else:
        draft.stock = {"disc": round(size + more, 2)}
    draft.plate = {"outline": outline}
    if rng.random() < 0.5:
        draft.plate["pockets"] = {"seat": {"circle": draft.draw(1.7, 0.4 * size),
                                           "depth": draft.draw(0.1, 0.4)}}
        draft.pocket([0.8])
    draft.steps.append({"outline": {"cutter": draft.mill(mill)}})


def fillets(draft: Draft) -> None:
    """An outline with fillets, rounded to 0.001 mm as a drawing gives them, hollow at places."""
    rng = draft.rng
    mill = rng.choice((0.8, 1.0, 1.5))
    radius = draft.draw(0.52 * mill, 0.9 * mill)
    wide, high, arm = draft.draw(4, 5.5), draft.draw(3, 4.5), draft.draw(1.5, 2.2)
    sides = rng.choice((
        [[-wide, -high], [wide, -high], [wide, high], [-wide, high]],
        [[-wide, -high], [wide, -high], [wide, high], [arm, high], [arm, high - 2.5],
         [-arm, high - 2.5], [-arm, high], [-wide, high]],
        [[-wide, -high], [wide, -high], [wide, -arm], [arm, -arm], [arm, high], [-wide, high]],
        round_about(draft, 6.0, 5, 0.2)))
    draft.plate = {"outline": {"path": fillet_path(sides, radius)}}
    words: Words = {"cutter": draft.mill(mill)}
    if rng.random() < 0.3:
        words["tabs"] = {"count": rng.randint(2, 4), "width": 0.8, "height": 0.3}
    draft.steps.append({"outline": words})


def nested(draft: Draft) -> None:
    """Pockets in pockets in pockets, with islands and posts in them."""
    rng = draft.rng
    draft.thickness = 1.6
    wide = draft.draw(5, 6.4)
    at = [draft.draw(-0.5, 0.5), draft.draw(-0.5, 0.5)]
    depths = sorted(rng.sample((0.15, 0.25, 0.3, 0.4, 0.5, 0.6), 3))
    pockets: Words = {
        "outer": {"circle": wide, "depth": depths[0]},
        "middle": {"rectangle": [round(wide * 0.6, 2), round(wide * 0.5, 2)], "corner": 0.6,
                   "at": at, "depth": depths[1]},
        "inner": {"circle": round(wide * 0.3, 2), "at": at, "depth": depths[2]}}
    pick = rng.random()
    if pick < 0.35:
        pockets["outer"]["islands"] = [island(draft, 1.8, 0.9)]
    elif pick < 0.6:
        pockets["inner"]["islands"] = [{"circle": 0.5}]
    draft.plate = {"outline": {"circle": 14}, "pockets": pockets}
    if rng.random() < 0.4:
        draft.plate["posts"] = {"pillar": {"circle": draft.draw(0.6, 1.2),
                                           "at": [draft.draw(-2, 2), draft.draw(-2, 2)]}}
        if rng.random() < 0.5:
            draft.plate["posts"]["pillar"]["lowered"] = draft.draw(0.1, 0.5)
    draft.pocket(draft.falling(0.8, rng.choice((1, 1, 2))))


def odd_islands(draft: Draft) -> None:
    """Islands that a cutter hardly passes, at the wall, beside and around one another, and posts
    among them; one in eight as nobody would have them."""
    rng = draft.rng
    mill = rng.choice((0.6, 0.8))
    size = draft.draw(1.2, 2.0)
    gap = round(mill * rng.choice((1.12, 1.2, 1.35, 1.6)), 3)
    wall = round(3.0 - gap, 3)
    standing: list[Words] = rng.choice((
        [{"circle": size, "at": [round(wall - size / 2, 3), draft.draw(-0.6, 0.6)]}],
        [{"circle": size, "at": [round(-gap / 2 - size / 2, 3), 0]},
         {"circle": 1.0, "at": [round(gap / 2 + 0.5, 3), draft.draw(-0.3, 0.3)]}],
        [{"rectangle": [2 * wall, draft.draw(0.4, 1.4)], "corner": 0.2}],
        [{"rectangle": [0.7, size], "corner": 0.1, "at": [round(wall - 0.35, 3), 0]},
         {"rectangle": [0.7, size], "corner": 0.1, "at": [round(0.35 - wall, 3), 0]}],
        [kidney(draft, round(0.6 + gap + 0.3, 3), 0.6), {"circle": 1.2}],
        [{"polygon": [[-1.4, -1], [1.4, -1], [1.4, 1], [0.5, 1], [0.5, 0.2], [-0.5, 0.2],
                      [-0.5, 1], [-1.4, 1]], "corner": 0.39, "turned": draft.draw(0, 90, 0)}]))
    at = [draft.draw(-0.6, 0.6), draft.draw(-0.6, 0.6)]
    if rng.random() < 0.12:
        standing = rng.choice((
            [{"circle": size, "at": at}, {"circle": round(size / 2, 2), "at": at}],
            [{"circle": size, "at": at}, {"circle": size, "at": [at[0] + 0.8, at[1]]}],
            [{"rectangle": [size, 1.0], "at": at}, {"rectangle": [1.0, size], "at": at}],
            [{"circle": size, "at": [3.0, 0]}, {"circle": 0.8, "at": [-1, 0]}],
            [{"circle": size}, {"circle": size, "at": [size, 0]}],
            [{"rectangle": [7, 1.2], "corner": rng.choice((0, 0.2))}]))
    draft.plate = {"outline": {"circle": 12}, "pockets": {"well": {
        "rectangle": [6, 5.4], "corner": 0.5, "depth": draft.depth(), "islands": standing}}}
    if rng.random() < 0.3:
        draft.plate["posts"] = {"pillar": {"circle": 0.8, "at": rng.choice((
            [round(2.98 - gap - 0.4, 3), 0.3], [-2.0, 1.6], at))}}
    draft.pocket(draft.falling(mill, rng.choice((1, 1, 1, 2))))


def slots_and_tabs(draft: Draft) -> None:
    """Slots and openings cut through, the part held by tabs or a skin."""
    rng = draft.rng
    mill = rng.choice((0.5, 0.6, 0.8, 1.0))
    wide = round(mill * rng.choice((1.0, 1.1, 1.3, 2.0)), 3)
    draft.thickness = rng.choice((0.4, 0.5, 0.8))
    draft.plate = {
        "outline": rng.choice(({"circle": 13}, {"rectangle": [13, 9], "corner": 1.0},
                               {"polygon": round_about(draft, 6.5, 5, 0.1), "corner": 0.8})),
        "slots": {"long": {"ends": [[-2.5, 1.8], [2.5, draft.draw(1, 2)]], "width": wide},
                  "round": {"ends": [[3.2, -1], [-3.2, -1.0]], "centre": [0, -1],
                            "width": wide}},
        "openings": {"eye": {"circle": draft.draw(1.2 * mill, 2.4), "at": [0, -2]}}}
    del draft.plate["slots"][rng.choice(("long", "round"))]
    cut: Words = {"cutter": draft.mill(mill)}
    around: Words = {"cutter": draft.mill(rng.choice((0.8, 1.0)))}
    if rng.random() < 0.6:
        around["tabs"] = {"count": rng.randint(2, 4), "width": draft.draw(0.4, 1.0),
                          "height": draft.draw(0.15, 0.3)}
    elif rng.random() < 0.5:
        around["skin"] = 0.1
        if rng.random() < 0.5:
            around["cut-skin"] = True
    draft.steps += [{"cut-out": cut}, {"outline": around}]


def holed(draft: Draft) -> None:
    """A pocket with drilled and counterbored holes in it, by helix or in the holes themselves."""
    rng = draft.rng
    draft.thickness = 1.6
    wide = draft.draw(3.2, 4.6)
    holes: Words = {
        "pins": {"diameter": 1.2, "at": [[draft.draw(-1, 1), draft.draw(-1, 1)]]},
        "screws": {"diameter": 0.8, "at": [[-4.2, 3.0], [4.2, -3.0]],
                   "counterbore": {"diameter": 1.8, "depth": 0.5}}}
    draft.plate = {"outline": {"circle": 14}, "holes": holes,
                   "pockets": {"seat": {"rectangle": [wide, 3.2], "corner": 0.5,
                                        "depth": draft.depth()}}}
    draft.steps += [{"drill": {"cutter": draft.drill(1.2), "holes": ["pins"]}},
                    {"drill": {"cutter": draft.drill(0.8), "holes": ["screws"]}}]
    draft.pocket([0.8] if rng.random() < 0.5 else [1.5, 0.8])
    if rng.random() < 0.3:
        draft.steps[-1]["pocket"]["entry"] = "drilled"
    draft.steps.append({"bore": {"cutter": draft.mill(0.8), "holes": ["screws-counterbore"],
                                 "drilled": 0.8}})


def both_sides(draft: Draft) -> None:
    """Pockets on both faces, the second on dowels; floors between them may be thin."""
    rng = draft.rng
    draft.thickness = rng.choice((1.2, 1.6))
    draft.over = 0.2
    turned = rng.choice(("about X", "about Y"))
    under: Words = {"rectangle": [draft.draw(2.5, 3.8), draft.draw(2, 3)], "corner": 0.5,
                    "turned": draft.draw(0, 90, 0), "at": [draft.draw(-1, 1), 1.0]}
    if rng.random() < 0.4:
        under["islands"] = [island(draft, 0.6, 0.9)]
    draft.plate = {
        "outline": {"circle": 14},
        "holes": {"dowels": {"diameter": 1.0, "at": [[-5.5, 0], [5.5, 0.5]]}},
        "pockets": {
            "over": {"circle": draft.draw(2, 3.6), "at": [draft.draw(-1, 1), -0.5],
                     "depth": draft.draw(0.2, 0.7)},
            "beneath": {**under, "depth": draft.draw(0.2, 0.7), "face": "under"}}}
    draft.steps += [{"drill": {"cutter": draft.drill(1.0), "holes": ["dowels"]}}]
    draft.pocket([0.8], ["over"])
    draft.steps.append({"outline": {"cutter": draft.mill(1.0)}})
    second: list[Words] = [{"face": {"cutter": draft.mill(3.0)}}]
    second += [{"pocket": {"cutter": draft.mill(one)}} for one in
               draft.falling(0.9, rng.choice((1, 2)))]
    draft.more = [{"name": "under", "face": "under", "turned-over": turned,
                   "stock": {"left-by": "upper", "thickness": round(draft.thickness + 0.2, 3)},
                   "zero": {"dowel": "dowels-1"}, "steps": second}]


def bridges(draft: Draft) -> None:
    """A bridge with inside corners and a recess over its edge: pocketed first, then outlined."""
    rng = draft.rng
    arm, foot = draft.draw(1.4, 2.0), draft.draw(3.0, 3.8)
    mill = rng.choice((0.8, 1.0))
    draft.plate = {
        "outline": {"polygon": [[-5.5, -foot], [-1.5, -foot], [-1.5, -arm], [5.5, -arm],
                                [5.5, arm], [-1.5, arm], [-1.5, foot], [-5.5, foot]],
                    "corner": draft.draw(0.51 * mill, 0.7)},
        "pockets": {"recess": {"circle": draft.draw(1.6, 3.5),
                               "at": [draft.draw(2.5, 5.5), draft.draw(-1.2, 1.2)],
                               "depth": draft.depth(0.5)}},
        "holes": {"jewel": {"diameter": 1.2, "at": [[-3.5, 0]]}}}
    draft.steps += [{"drill": {"cutter": draft.drill(0.8), "holes": ["jewel"]}},
                    {"bore": {"cutter": draft.mill(0.6), "holes": ["jewel"], "drilled": 0.8}}]
    draft.pocket(draft.falling(1.0, rng.choice((1, 2))))
    draft.steps.append({"outline": {"cutter": draft.mill(mill)}})


KINDS: dict[str, Callable[[Draft], None]] = {one.__name__.replace("_", " "): one for one in (
    any_pocket, islands, rest_cutters, open_side, channels, stars, wedges, faced, fillets, nested,
    odd_islands, slots_and_tabs, holed, both_sides, bridges)}


def random_plate(number: int) -> tuple[str, str]:
    """The plate of that number: its kind, which go round by turns, and the job file's text."""
    kind = list(KINDS)[number % len(KINDS)]
    draft = Draft(f"{kind} {number}")
    KINDS[kind](draft)
    return kind, draft.text()
