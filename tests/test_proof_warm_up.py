"""A warm-up as told against the one that the machine file wants."""

from __future__ import annotations

import pytest

from camgen.proof.motion.warm_up import _compare

WANTED = [(3000.0, 20.0), (8000.0, 10.0), (9000.0, 0.0)]


class Found:
    """What is found, by its line."""

    def __init__(self) -> None:
        self.lines: list[int] = []

    def add(self, message: str, line: int) -> None:
        assert message
        self.lines.append(line)


@pytest.mark.parametrize(("runs", "lines"), [
    ([(3000.0, 20.0), (8000.0, 10.0), (9000.0, 0.0)], []),
    ([(3000.4, 20.0), (7999.6, 10.0), (9000.0, 3.0)], []),
    ([(2999.0, 20.0), (8000.0, 10.0), (9000.0, 0.0)], [1]),
    ([(3001.0, 20.0), (8000.0, 10.0), (9000.0, 0.0)], [1]),
    ([(3000.0, 20.0), (5000.0, 10.0), (9000.0, 0.0)], [2]),
    ([(3000.0, 19.9), (8000.0, 10.0), (9000.0, 0.0)], [1]),
    ([(3000.0, 20.0), (8000.0, 9.0), (9000.0, 0.0)], [2]),
    ([(3000.0, 25.0), (8000.0, 12.0)], [2]),
    ([(3000.0, 20.0), (8000.0, 10.0), (9000.0, 0.0), (4000.0, 0.0)], [4]),
])
def test_every_run_has_its_speed_and_its_time(
    runs: list[tuple[float, float]], lines: list[int]
) -> None:
    found = Found()
    told = [(*run, number) for number, run in enumerate(runs, 1)]
    _compare(WANTED, told, found)  # type: ignore[arg-type]
    assert found.lines == lines
