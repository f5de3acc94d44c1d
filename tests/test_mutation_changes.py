"""Mutants change what the source means, and nothing that is only said."""

from __future__ import annotations

from tests.mutation.changes import changes_of

SOURCE = '''
"""Of 3 words."""
__all__ = ["near"]
LIMIT: float = 0.5

@kept(size=40)
def near(way: Row[3], most: float = 2.0) -> bool:
    """Nearer than 2."""
    if way < most and not far(way, least=1):
        raise ValueError(f"{way + 1} is more than {most + 2}")
    told(way)
    return abs(way) - 1 > min(way, most)
'''


def test_each_place_is_changed_in_its_ways() -> None:
    made = {(change.kind, change.old, change.new) for place in changes_of("a.py", SOURCE)
            for change in place}
    assert made == {
        ("constant", "0.5", "(0.55)"),
        ("constant", "0.5", "(0.25)"),
        ("constant", "2.0", "(2.2)"),
        ("constant", "2.0", "(1.0)"),
        ("negated", "way < most and not far(way, least=1)",
         "(not (way < most and (not far(way, least=1))))"),
        ("and, or", "way < most and not far(way, least=1)",
         "(way < most or not far(way, least=1))"),
        ("and, or", "way < most and not far(way, least=1)", "(not far(way, least=1))"),
        ("and, or", "way < most and not far(way, least=1)", "(way < most)"),
        ("comparison", "way < most", "(way <= most)"),
        ("comparison", "way < most", "(way >= most)"),
        ("sign lost", "not far(way, least=1)", "(far(way, least=1))"),
        ("keyword lost", "far(way, least=1)", "(far(way))"),
        ("constant", "1", "(2)"),
        ("constant", "1", "(0)"),
        ("call lost", "told(way)", "None"),
        ("result lost", "return abs(way) - 1 > min(way, most)", "return False"),
        ("comparison", "abs(way) - 1 > min(way, most)", "(abs(way) - 1 >= min(way, most))"),
        ("comparison", "abs(way) - 1 > min(way, most)", "(abs(way) - 1 <= min(way, most))"),
        ("sign", "abs(way) - 1", "(abs(way) + 1)"),
        ("call dropped", "abs(way)", "(way)"),
        ("call", "min(way, most)", "(max(way, most))"),
    }


def test_every_change_is_applied_where_it_stands() -> None:
    for place in changes_of("a.py", SOURCE):
        for change in place:
            changed = change.applied(SOURCE)
            compile(changed, "a.py", "exec")
            assert changed != SOURCE
            assert len(changed) == len(SOURCE) - len(change.old) + len(change.new)


def test_a_change_keeps_its_name_when_lines_are_added_above() -> None:
    keys = [change.key for place in changes_of("a.py", SOURCE) for change in place]
    moved = "import math\n" + SOURCE
    assert [change.key for place in changes_of("a.py", moved) for change in place] == keys
    assert len(set(keys)) == len(keys)
