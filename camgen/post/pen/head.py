"""The dividing head: turned by the program, or by hand at a stop."""

from __future__ import annotations

from copy import copy

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.moves import Index
from camgen.post.measured import turned_to
from camgen.post.pen.blocks import ModalBlocks
from camgen.post.pen.position import Position
from camgen.post.pen.running import Running
from camgen.shop.machine import DrivenHead, HandHead

__all__ = ["Head"]


class Head:
    """How the head stands: ``angle`` in counts of its last place, or in pulses from its start.

    ``farthest`` is how far from its zero it is turned at all, degrees; ``turned`` is true once it
    was.
    """

    def __init__(self, position: Position, running: Running) -> None:
        self.position, self.running = position, running
        self.angle = 0
        self.farthest = 0.0
        self.turned = False
        self._told = False
        # How far it was last turned upward without a turn back, counts: its backlash is taken up.
        self._rise = 0
        # Whole turns that are written beside those planned, where the head has limits.
        self._wound = 0

    @property
    def blocks(self) -> ModalBlocks:
        """The blocks it writes."""
        return self.position.blocks

    def copied(self, position: Position, running: Running) -> Head:
        """The same in other blocks, to go on without touching these."""
        other = copy(self)
        other.position, other.running = position, running
        return other

    def index(self, move: Index) -> None:
        """Turn to a space, the workshop's own blocks before and after."""
        machine = self.blocks.spelling.machine
        head, insert = machine.dividing, machine.insert
        if self.position.lost:
            self.position.find()
        self.blocks.cancel_cycle()
        self.blocks.values["space"] = str(move.space)
        self.blocks.values["angle"] = f"{move.degrees:.6g}"
        if isinstance(head, HandHead):
            if move.space or move.setting:
                self.blocks.own(insert.before_index)
                self._by_hand(head, move)
                self.blocks.own(insert.after_index)
        elif head is not None:
            self.blocks.own(insert.before_index)
            self._turn(head, move)
            self.blocks.own(insert.after_index)

    def unwind(self) -> None:
        """Turn the head back to where it started."""
        machine = self.blocks.spelling.machine
        head, rotary, insert = machine.dividing, machine.rotary, machine.insert
        if isinstance(head, DrivenHead) and rotary.unwind and self.angle:
            self.blocks.values["space"] = self.blocks.values["angle"] = "0"
            self.blocks.own(insert.before_index)
            if head.pulses is not None:
                self._by_pulses(head.pulses, 0.0)
            else:
                if rotary.unclamp:
                    self.blocks.block(rotary.unclamp)
                self._turn_to(head, 0)
                if rotary.clamp:
                    self.blocks.block(rotary.clamp)
            self.blocks.own(insert.after_index)

    def _by_hand(self, head: HandHead, move: Index) -> None:
        values = {
            "space": str(move.space),
            "angle": f"{move.degrees:.6f}".rstrip("0").rstrip("."),
            "setting": move.setting,
        }
        message = self.blocks.text.filled(head.message, values, "setting")
        if not self.running.at_one_stop(message):
            self.running.rest()
            self.blocks.stop(message)

    def _turn(self, head: DrivenHead, move: Index) -> None:
        """Turn a driven head, so that it always arrives from below and its backlash is taken up."""
        spelling = self.blocks.spelling
        rotary = spelling.machine.rotary
        if head.pulses is not None:
            self._by_pulses(head.pulses, move.degrees)
            return
        sign = -1 if head.sense == "reversed" else 1
        goal = sign * spelling.angle_counts(turned_to(head, move.degrees), head.increment)
        take_up = round(head.take_up * 10**spelling.machine.numbers.rotary_decimals)
        goal = self._within(head, goal, sign * take_up)
        if move.space == 0:
            take_up = 0
        if rotary.unclamp:
            self.blocks.block(rotary.unclamp)
        ahead = (goal - self.angle) * sign
        # Whoever runs a program may have left the head anywhere, above its first space as well.
        unsure = take_up > 0 and not self._told and rotary.way != "incremental"
        if unsure or ahead < 0 or ahead + self._rise < take_up:
            self._turn_to(head, goal - sign * take_up)
        self._turn_to(head, goal)
        if rotary.clamp:
            self.blocks.block(rotary.clamp)

    def _by_pulses(self, pulses: int, degrees: float) -> None:
        """On to an angle by whole steps of the head, ``pulses`` of them to a turn, never back."""
        rotary = self.blocks.spelling.machine.rotary
        steps = degrees * pulses / 360.0
        goal = round(steps)
        if rotary.pulse is None or abs(steps - goal) > 1e-6:
            raise Refused(Fault(
                Message("the head cannot be turned to {angle:g} degrees by whole steps, {pulses} "
                        "to a turn", angle=degrees, pulses=pulses),
                Message("say how many steps the head makes for one turn under dividing.pulses")))
        ahead = (goal - self.angle) % pulses
        if ahead and rotary.unclamp:
            self.blocks.block(rotary.unclamp)
        for _ in range(ahead):
            self.blocks.block(rotary.pulse)
            if rotary.answered:
                self.blocks.block(rotary.answered)
        if rotary.clamp:
            self.blocks.block(rotary.clamp)
        self.angle = goal % pulses
        self.turned = self.turned or ahead > 0

    def _within(self, head: DrivenHead, goal: int, take_up: int) -> int:
        """The same place within the limits of turning, with room to come to it from one side.

        Whole turns are taken back where it would go beyond, as few as will do.
        """
        if head.limits is None:
            return goal
        places = self.blocks.spelling.machine.numbers.rotary_decimals
        turn = round(360 * 10.0**places)
        least, most = (round(end * 10.0**places) for end in head.limits)

        def fits(turns: int) -> bool:
            there = goal + turns * turn
            return least <= min(there, there - take_up) and max(there, there - take_up) <= most

        if not fits(self._wound):
            far = (most - least) // turn + abs(goal) // turn + 2
            able = [turns for turns in range(-far, far + 1) if fits(turns)]
            if not able:
                raise Refused(Fault(
                    Message("the head cannot be turned to {angle:g} degrees within its limits",
                            angle=goal * 10.0**-places),
                    Message("write wider dividing.limits in the machine file, or take-up: 0 where "
                            "there is no backlash")))
            self._wound = min(able, key=lambda turns: abs(goal + turns * turn - self.angle))
        return goal + self._wound * turn

    def _turn_to(self, head: DrivenHead, goal: int) -> None:
        """One turn; in several where the control would otherwise take the other way round."""
        machine = self.blocks.spelling.machine
        delta, way = goal - self.angle, machine.rotary.way
        if delta == 0 and (self.turned or way == "incremental"):
            return
        turn = 360 * 10**machine.numbers.rotary_decimals
        longest = {"shortest": turn // 3, "signed": turn // 2}.get(way)
        if longest is not None and abs(delta) > longest:
            self._turn_to(head, self.angle + (longest if delta > 0 else -longest))
            self._turn_to(head, goal)
            return
        ahead = delta if head.sense == "iso" else -delta
        self._rise = self._rise + ahead if ahead > 0 else 0
        self.angle = goal
        if way == "absolute":
            shown = goal
        elif way == "incremental":
            shown = delta
        elif way == "signed":
            # The sign of nothing would be lost: a full turn stands for 0.
            shown = (goal % turn or turn) * (1 if delta > 0 else -1)
        else:
            shown = goal % turn
        degrees = abs(delta) / 10**machine.numbers.rotary_decimals
        if not self.turned and way != "incremental":
            degrees = self._farthest_turn(degrees)
        self.turned = self.turned or delta != 0
        self._say_turn(head, shown, degrees)

    def _farthest_turn(self, degrees: float) -> float:
        """How far the first turn may go: where the head stands before it, nobody knows."""
        machine = self.blocks.spelling.machine
        goal = abs(self.angle) * 10.0**-machine.numbers.rotary_decimals
        farthest = {"shortest": 180.0, "absolute": max(360.0, self.farthest + goal)}
        return max(degrees, farthest.get(machine.rotary.way, 360.0))

    def _say_turn(self, head: DrivenHead, counts: int, degrees: float) -> None:
        """The block of one turn through ``degrees``."""
        blocks, spelling = self.blocks, self.blocks.spelling
        rotary = spelling.machine.rotary
        self._told = True
        word = head.letter + spelling.angle(counts)
        relative = [spelling.g("G91")] if rotary.way == "incremental" else []
        if rotary.turn == "rapid":
            words = [word]
            blocks.say_motion("G0", words)
            blocks.block(*relative, *words)
        elif rotary.turn == "feed":
            blocks.block(*relative, spelling.g("G1"), word, spelling.f_word(head.feed_limit))
            blocks.forget()
        else:
            blocks.block(*relative, "G93", spelling.g("G1"), word,
                         spelling.f_word(head.feed_limit / degrees))
            blocks.block("G95" if blocks.per_turn else "G94")
            blocks.forget()
        if relative:
            blocks.block("G90")
