"""Linear axes, the spindle, a further rotary axis, and how the spindle is started."""

from typing import Annotated, Any, Literal, Self, TypeAlias

from pydantic import Field, field_validator, model_validator

from camgen.messages import Message
from camgen.shop.machine.measured import Errors, rising, scale_meant
from camgen.shop.machine.texts import AxisName, MWord, RotaryLetter
from camgen.shop.model import FASTEST, LONGEST, FileModel, NotNegative, Positive

__all__ = ["LinearAxis", "SecondRotary", "Spindle", "SpindleStep", "SpindleWords"]


WarmSpeed: TypeAlias = Annotated[float, Field(ge=1, le=FASTEST)]
WarmSeconds: TypeAlias = Annotated[float, Field(gt=0, le=36_000)]


class LinearAxis(FileModel):
    """One linear axis: how far, how fast, how finely."""

    travel: Positive = Field(200.0, ge=1, le=LONGEST, description="usable travel, mm")
    rapid: Positive = Field(2000.0, ge=1, le=FASTEST, description="rate of rapid moves, mm/min")
    feed_limit: Positive = Field(
        1000.0, ge=1, le=FASTEST, description="fastest feed the axis follows, mm/min"
    )
    acceleration: Positive = Field(250.0, ge=5, le=1e6, description="acceleration, mm/s²")
    increment: Positive = Field(0.001, ge=1e-6, le=0.05, description="least increment, mm")
    backlash: NotNegative = Field(0.0, le=1, description="an older word for lash")
    lash: NotNegative = Field(0.0, le=0.5, description="lost motion at a reversal, mm, as measured")
    scale: float = Field(
        1.0, description="how far the slide goes for each mm that it is told, as measured"
    )
    errors: Errors = Field(
        (),
        description=(
            "instead of scale, as measured: places told, mm, and by how many mm the slide then "
            "stands farther on; both counted as ISO 841 says, also where sense is reversed"
        ),
    )
    errors_zero: float = Field(
        0.0, ge=-10_000, le=10_000,
        description="the place among those of errors where the zero of the work lies, mm",
    )
    letter: Literal["X", "Y", "Z", "U", "V", "W"] | None = Field(
        None, description="the word's letter in programs; null: the axis's own"
    )
    sense: Literal["iso", "reversed"] = Field(
        "iso", description="iso: words count as ISO 841 says; reversed: the other way"
    )

    counts: Literal["once", "twice"] = Field(
        "once",
        description=(
            "twice: its words are diameters, double of the way; centres and R of arcs stay single"
        ),
    )

    @field_validator("scale")
    @classmethod
    def near_one(cls, scale: float) -> float:
        """Refuse a scale that no screw has by itself."""
        return scale_meant(scale)

    @field_validator("errors")
    @classmethod
    def table_rises(cls, errors: Errors) -> Errors:
        """Refuse a table that does not rise, or whose slide would not."""
        return rising(errors, 1.0)

    @model_validator(mode="after")
    def one_of_two(self) -> Self:
        """Refuse the same said twice."""
        if self.lash and self.backlash and self.lash != self.backlash:
            raise ValueError(Message("lash and backlash are the same: write lash alone"))
        if self.errors and self.scale != 1.0:
            raise ValueError(Message(
                "a table of errors and a scale cannot both hold: leave one of them out"))
        return self

    @property
    def lost(self) -> float:
        """Lost motion at a reversal, mm, by whichever word it is said."""
        return self.lash or self.backlash


class SecondRotary(FileModel):
    """A further rotary axis that jobs do not turn: it is set once and left."""

    letter: RotaryLetter = Field("B", description="the rotary word's letter")
    sense: Literal["iso", "reversed"] = Field(
        "iso", description="iso: positive turns as ISO 841 says; reversed: the other way"
    )
    stands_at: float = Field(
        0.0, ge=-360, le=360, description="where it is set at the start of a program, degrees"
    )


class SpindleStep(FileModel):
    """One speed of a spindle that has only some: a belt on its pulleys, a gear."""

    speed: int = Field(ge=1, le=1_000_000, description="speed of the spindle at this step, rev/min")
    word: MWord | None = Field(
        None,
        description=(
            "word that sets it, such as M41; null: by hand at a stop with a message, or by S"
        ),
    )
    code: int | None = Field(
        None, ge=0, le=9999, description="number that S has for it where s-says is step"
    )
    called: str = Field(
        "",
        max_length=24,
        pattern="^[A-Z0-9 .-]*$",
        description="what the operator finds there, such as BELT 2; empty: STEP and its number",
    )


class Spindle(FileModel):
    """The spindle's speeds and what it can give at each."""

    lowest: Positive = Field(1000.0, le=FASTEST, description="lowest speed, rev/min")
    highest: Positive = Field(24000.0, le=FASTEST, description="highest speed, rev/min")
    power: tuple[tuple[Positive, Positive], ...] = Field(
        ((1000.0, 20.0), (12000.0, 200.0), (24000.0, 200.0)),
        min_length=1,
        description="points of speed (rev/min) and power at the cutter (W), rising in speed",
    )
    run_out: NotNegative = Field(0.003, le=0.5, description="total run-out at the cutter, mm")
    senses: tuple[Literal["clockwise", "anticlockwise"], ...] = Field(
        ("clockwise",),
        min_length=1,
        description="senses it can turn in, seen from the spindle to the work",
    )
    lies: AxisName | None = Field(
        None, description="the axis it always lies along; null: it may be turned, or is not said"
    )
    start_seconds: NotNegative = Field(3.0, le=600, description="time to come up to speed, s")
    stop_seconds: NotNegative = Field(
        0.0, le=600,
        description=(
            "time it runs down once stopped, s, waited for before a word sets another step; 0: the "
            "control itself waits until it stands"
        ),
    )
    speed_step: Positive = Field(1.0, le=10_000, description="speeds are set in steps of, rev/min")
    steps: tuple[SpindleStep, ...] = Field(
        (), max_length=40, description="the only speeds that can be had, slowest first; []: any"
    )
    reversal_seconds: Positive | None = Field(
        None,
        description=(
            "time to turn from one sense to the other at the speed of tapping, s; null: it must "
            "not be reversed with the cutter in the work, and there is no tapping"
        ),
    )

    @field_validator("power")
    @classmethod
    def rising(
        cls, points: tuple[tuple[float, float], ...]
    ) -> tuple[tuple[float, float], ...]:
        """Refuse points of power that are not in rising order of speed."""
        speeds = [speed for speed, _ in points]
        if sorted(set(speeds)) != speeds:
            raise ValueError(Message("the points of power must rise in speed"))
        return points

    @model_validator(mode="before")
    @classmethod
    def ends_of_steps(cls, data: Any) -> Any:
        """Where there are steps, the lowest and highest speed are theirs, whatever stands there."""
        if not isinstance(data, dict) or not isinstance(data.get("steps"), list | tuple):
            return data
        speeds = [one.get("speed") if isinstance(one, dict) else getattr(one, "speed", None)
                  for one in data["steps"]]
        known = [float(one) for one in speeds if isinstance(one, int | float)]
        if not known or len(known) < len(speeds):
            return data
        for word, least in (("lowest", False), ("highest", True)):
            said = data.get(word)
            end = max(known) if least else min(known)
            if isinstance(said, int | float) and (said < end if least else said > end):
                raise ValueError(Message(
                    "a step of {speed:g} rev/min lies beyond {word}: leave {word} out, it follows "
                    "from the steps", speed=end, word=word))
        return {**data, "lowest": min(known), "highest": max(known)}

    @model_validator(mode="after")
    def lowest_first(self) -> Self:
        """Refuse a lowest speed above the highest, and steps that do not rise."""
        if self.lowest > self.highest:
            raise ValueError(Message("the lowest speed is above the highest"))
        speeds = [one.speed for one in self.steps]
        if sorted(set(speeds)) != speeds:
            raise ValueError(Message("the steps must rise in speed"))
        return self

    def at_most(self, rpm: float) -> float:
        """The highest speed that can be had and is not above ``rpm``; else the lowest there is.

        >>> belts = Spindle(steps=(SpindleStep(speed=600), SpindleStep(speed=1500)))
        >>> belts.at_most(1499.0), belts.at_most(9000.0), belts.lowest
        (600.0, 1500.0, 600.0)
        """
        if not self.steps:
            return rpm
        below = [one.speed for one in self.steps if one.speed <= rpm * (1.0 + 1e-9)]
        return float(below[-1] if below else self.steps[0].speed)

    def step_at(self, rpm: float) -> SpindleStep | None:
        """The step of this speed; None where there is none."""
        return next((one for one in self.steps if abs(one.speed - rpm) < 0.01), None)

    def called(self, step: SpindleStep) -> str:
        """What a step is called.

        >>> belts = Spindle(steps=(SpindleStep(speed=600), SpindleStep(speed=900, called="BELT B")))
        >>> [belts.called(one) for one in belts.steps]
        ['STEP 1', 'BELT B']
        """
        return step.called or f"STEP {self.steps.index(step) + 1}"


class SpindleWords(FileModel):
    """How the spindle is started and stopped."""

    by_program: bool = Field(True, description="false: started by hand, with a stop and a message")
    stops: Literal["together", "apart"] = Field(
        "together",
        description=(
            "a spindle and a head both by hand: together: one stop says to stop the spindle, turn "
            "the head and start again; apart: a stop for each"
        ),
    )
    clockwise: MWord = Field("M3", description="word that starts it clockwise")
    anticlockwise: MWord = Field("M4", description="word that starts it anticlockwise")
    stop: MWord = Field("M5", description="word that stops it")
    oriented_stop: MWord | None = Field(
        None, description="word that stops it always turned the same way, such as M19; null: none"
    )
    tip_at: Literal["+X", "-X", "+Y", "-Y"] = Field(
        "+X", description="where the tip of a boring bar, as it is put in, points when so stopped"
    )
    s_says: Literal["speed", "step", "nothing"] = Field(
        "speed",
        description=(
            "speed: S is rev/min; step: S is the code of a step of the spindle; nothing: no S is "
            "written"
        ),
    )
    speed_alone: bool = Field(False, description="the S word in a block of its own, first")
    dwell: bool = Field(True, description="wait for the spindle's start-seconds after the start")
    warm_up: tuple[tuple[WarmSpeed, WarmSeconds], ...] = Field(
        (), description="speeds (rev/min) and seconds run before the first cut"
    )
