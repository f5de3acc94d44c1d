"""Teeth that cannot come right by what the job says of depth, cutter or blank, told in its words.

The proofs of the teeth say it too; but where a word of the job is the cause, that word is named,
with how much of it teeth or pair bear: of a correction before anything is written, of cutter and
blank beside the proofs that fail, for the wheel as it would be cut can still be drawn.
"""

from __future__ import annotations

import math

from camgen.faults import Fault, Refused, no_more
from camgen.job.checks.on_head.as_cut_instead import as_cut_would_be
from camgen.job.joined.cut_by import cutter_of_teeth
from camgen.job.models import HeadSetup, Job
from camgen.job.reading import JobFile
from camgen.layout import place_of
from camgen.make.causes.unlike_word import unlike_word, unlike_word_fault, word_that_stops
from camgen.messages import NOTHING, Message
from camgen.part.parts import Toothed
from camgen.part.plates.plate import Plate
from camgen.part.turned.turned import TurnedPart
from camgen.proof.head.tooth_form import (
    corrected_pair,
    form_limit,
    form_of,
    form_off,
    form_tolerance,
    most_off,
)
from camgen.shop.cutters import Cutter, MadeFor
from camgen.teeth.tooth import Tooth

__all__ = ["corrected_pair_faults", "pair_faults"]

# A topping cutter takes so much above the tips, in modules. Common practice, no source.
MOST_TOPPED = 0.5
# The most that the pair bears is sought in so many halvings, of a correction of tenths of a mm.
HALVINGS = 8
# And told less this, µm.
MARGIN = 2


def corrected_pair_faults(job_file: JobFile) -> list[Fault]:
    """A fault for each depth correction that stops a pair which runs without it."""
    job = job_file.job
    faults = []
    for setup in job.setups:
        for number, words in enumerate(setup.steps):
            for one in words.declares().corrections:
                if one.added != "depth" or not one.value:
                    continue
                cutter = job.cutters[words.cutter]
                amiss = _amiss(job, cutter, one.value)
                if not amiss or _amiss(job, cutter, 0.0):
                    continue
                borne = _borne(job, cutter, one.value)
                faults.append(job_file.located(Fault(
                    Message("with a {word} of {value:+g} mm the pair would not run: {amiss}",
                            word=one.word, value=one.value, amiss=amiss),
                    Message("{borne:+.3f} mm is borne; where a piece truly measured so far off, "
                            "look at the cutter, its zero and the blank's diameter", borne=borne),
                    place_of(job, setup, "steps", number, words.kind, one.word))))
    return faults


def pair_faults(job_file: JobFile) -> list[Fault]:
    """Cutters made for too different a tooth, and blanks so large that tips stay on the teeth."""
    job = job_file.job
    faults: list[Fault] = []
    for number, setup in enumerate(one.work for one in job.setups):
        if not isinstance(setup, HeadSetup):
            continue
        blank, tooth = setup.dividing.blank, job.part.tooth()
        tip, limit = tooth.sizes.tip_diameter, form_limit(tooth, form_tolerance(job.part))
        topping = any(job.cutters[words.cutter].topping for words in setup.steps
                      if words.declares().forms_spaces)
        topped = tip + 2 * MOST_TOPPED * tooth.sizes.module
        if topping and blank is not None and blank > topped:
            faults.append(Fault(
                Message("a blank of {blank:g} mm stands {high:.3f} mm above the tips of the teeth: "
                        "a topping cutter takes {most:.3f} mm", blank=blank,
                        high=(blank - tip) / 2, most=(topped - tip) / 2),
                Message("turn it to blank: {most} or less", most=no_more(topped)),
                job_file.place("setups", number, "dividing", "blank")))
        elif not topping and blank is not None and 500 * (blank - tip) > limit:
            faults.append(Fault(
                Message("a blank of {blank:g} mm leaves the teeth {high:.3f} mm too high: they end "
                        "at {tip:.3f} mm, and no step turns them down", blank=blank,
                        high=(blank - tip) / 2, tip=tip),
                Message("turn it to blank: {most} or less, or leave blank: out; or write topping: "
                        "yes with the cutter if it cuts the tips too",
                        most=no_more(tip + limit / 500)),
                job_file.place("setups", number, "dividing", "blank")))
        # With a correction of the depth in force, what is left of the form hangs on that too.
        for name in dict.fromkeys(words.cutter for words in setup.steps
                                  if words.declares().forms_spaces
                                  and not words.declares().added("depth")):
            faults += _misfit(job_file, tooth, name, limit) or _stopped(job_file, name)
    return list(dict.fromkeys(faults))


def _misfit(job_file: JobFile, tooth: Tooth, name: str, limit: float) -> list[Fault]:
    part, cutter = job_file.job.part, job_file.job.cutters[name]
    made = cutter.made_for
    if isinstance(part, Plate | TurnedPart):
        return []
    if part.is_as_cut:
        return _no_pair(job_file, part, name) if name == cutter_of_teeth(job_file.job) else []
    if made is None:
        return _misground(job_file, part, tooth, name, limit)

    def off_with(other: MadeFor) -> float:
        try:
            return form_off(tooth, cutter.model_copy(update={"made_for": other}))
        except (Refused, ValueError):
            return math.inf

    other = unlike_word(part, made, off_with)
    if made.teeth == part.count and made.mate in (None, part.mate) and other is None:
        return []
    try:
        off = form_off(tooth, cutter)
    except (Refused, ValueError):
        return []  # told by the proof
    if off <= limit:
        return []
    if made.teeth == part.count and made.mate in (None, part.mate) and other is not None:
        return [unlike_word_fault(name, part, made, other, off, limit,
                                  job_file.place("cutters", name, "made-for"))]
    if made.teeth == part.count:
        return [Fault(
            Message("{cutter}, made for a mate of {its} teeth, leaves teeth that run with {own} "
                    "up to {off:.1f} µm off their form; {limit:.1f} µm are bearable", cutter=name,
                    its=made.mate, own=part.mate, off=off, limit=limit),
            Message("take a cutter made for a mate of {own}, and if it is one, write mate: {own} "
                    "under made-for:; if the mate has {its}, write that under {word}:",
                    own=part.mate, its=made.mate, word=part.word),
            job_file.place("cutters", name, "made-for", "mate"))]
    return [Fault(
        Message("{cutter}, made for {its} teeth, leaves teeth of {own} up to {off:.1f} µm off "
                "their form; {limit:.1f} µm are bearable", cutter=name, its=made.teeth,
                own=part.count, off=off, limit=limit),
        Message("take a cutter made for {own} teeth or near it, and if it is one, write made-for: "
                "{words}. {otherwise}", own=part.count, words=f"{{teeth: {part.count}, …}}",
                otherwise=as_cut_would_be(part, cutter, off)),
        job_file.place("cutters", name, "made-for", "teeth"))]


def _stopped(job_file: JobFile, name: str) -> list[Fault]:
    """A word of the form with which the teeth do not run with their mate, as they would without."""
    part, cutter = job_file.job.part, job_file.job.cutters[name]
    if isinstance(part, Plate | TurnedPart) or part.is_as_cut:
        return []

    def amiss(other: Toothed, cut_by: Cutter) -> Message:
        try:
            return corrected_pair(other, cut_by, 0.0)
        except Refused as no:
            return no.faults[0].message
        except ValueError:
            return Message("the teeth as cut cannot be rolled")

    why = amiss(part, cutter)
    word = word_that_stops(part, cutter, lambda *pair: bool(amiss(*pair))) if why else None
    if word is None:
        return []
    typed, value = word.name.replace("_", "-"), part.own()[word.name]
    return [Fault(
        Message("with {word} {value} the pair would not run: {amiss}", word=typed, value=value,
                amiss=why),
        Message("look at {word} and at the module, and measure the mate: without {word} it would "
                "run", word=typed),
        job_file.place(part.word, typed))]


def _no_pair(job_file: JobFile, part: Toothed, name: str) -> list[Fault]:
    """Teeth taken as their cutter makes them, that do not run with their mate."""
    amiss = _amiss(job_file.job, job_file.job.cutters[name], 0.0)
    if not amiss:
        return []
    return [Fault(
        Message("teeth as {cutter} cuts them do not run with their mate: {amiss}", cutter=name,
                amiss=amiss),
        Message("take a cutter nearer to the form, or one ground for about {own} teeth; where the "
                "mate was not cut to its form, name its own cutter under mate-cutter:",
                own=part.count),
        job_file.place(part.word, "tooth"))]


def _misground(
    job_file: JobFile, part: Toothed, tooth: Tooth, name: str, limit: float
) -> list[Fault]:
    """A bought cutter whose profile is too far off the form that the job means."""
    cutter = job_file.job.cutters[name]
    if not cutter.shaped:
        return []
    try:
        error = form_of(tooth, cutter)
    except (Refused, ValueError):
        return []  # told by the proof
    off = most_off(error)
    if off <= limit:
        return []
    where = (error.missing_where if error.missing >= error.left else error.left_where) or Message(
        "thickness at the pitch circle")
    count = cutter.ground.count if cutter.ground is not None else None
    told = (Message("{cutter} is ground for {its} teeth, and these are {own}: they come out up to "
                    "{off:.1f} µm off their form ({where}); {limit:.1f} µm are bearable",
                    cutter=name, its=count, own=part.count, off=off, where=where, limit=limit)
            if count is not None and count != part.count else
            Message("the profile of {cutter} leaves teeth up to {off:.1f} µm off their form "
                    "({where}); {limit:.1f} µm are bearable", cutter=name, off=off, where=where,
                    limit=limit))
    return [Fault(told, as_cut_would_be(part, cutter, off),
                  job_file.place("cutters", name, cutter.said_as))]


def _amiss(job: Job, cutter: Cutter, deeper: float) -> Message:
    try:
        return corrected_pair(job.part, cutter, deeper)
    except (Refused, ValueError):
        return NOTHING  # told by the proof, whatever the correction


def _borne(job: Job, cutter: Cutter, wanted: float) -> float:
    """The correction nearest to the one wanted with which the pair runs, mm, found by halving."""
    good, bad = 0.0, wanted
    for _ in range(HALVINGS):
        middle = (good + bad) / 2
        good, bad = (good, middle) if _amiss(job, cutter, middle) else (middle, bad)
    # Towards nothing by more than a program and its machine round, so that what is told holds.
    return math.copysign(max(0.0, int(abs(good) * 1000) - MARGIN) / 1000, wanted)
