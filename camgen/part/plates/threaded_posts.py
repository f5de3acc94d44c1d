"""Threads outside on posts: how long they may be, and what is wrong with them. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import shapely

from camgen.faults import Fault, Refused, no_more
from camgen.messages import Message
from camgen.part.features import OutsideThread
from camgen.part.figures import lie_of, path_of
from camgen.part.plates.floors import floors_of
from camgen.part.plates.plate_words import Post
from camgen.shapes.path import Point
from camgen.shop.threads import outside_thread_of
from camgen.tolerances import AREA_CHORD, TOUCHING_AREA

if TYPE_CHECKING:
    from camgen.part.plates.plate import Plate

__all__ = ["FREE_OF_FLOOR", "outside_threads", "threaded_post_faults"]

FREE_OF_FLOOR: Final = 0.05
"""How far a thread mill's end stays off the floor below a post, mm (common practice, no source)."""


def outside_threads(plate: Plate) -> Iterator[OutsideThread]:
    """Every thread on a post. Raises Refused for one that is none; a post that cannot bear its
    thread has none here, which is told where the plate is looked at."""
    for name, post in plate.posts.items():
        if post.thread is None or post.circle is None:
            continue
        height = _height(plate, post)
        length = post.thread_length or _most_length(post, height)
        if length > 0:
            yield OutsideThread(
                name, lie_of(post).point(Point(0.0, 0.0)), post.thread, post.circle, length,
                post.lowered or 0.0, height, post.face, ("plate", "posts", name))


def threaded_post_faults(plate: Plate) -> Iterator[tuple[tuple[str, ...], Fault]]:
    """What is wrong with threads on posts; each fault with its words below ``plate``."""
    for name, post in plate.posts.items():
        at = ("posts", name)
        if post.thread is None:
            if post.thread_length is not None:
                yield (*at, "thread-length"), Fault(
                    Message("post {name} has a length of thread and no thread", name=name),
                    Message("say its thread:, or leave thread-length: out"))
            continue
        try:
            outside = outside_thread_of(post.thread)
        except Refused as no:
            yield from (((*at, "thread"), fault) for fault in no.faults)
            continue
        if post.circle is None:
            yield (*at, "thread"), Fault(
                Message("post {name} is not round and cannot bear a thread", name=name),
                Message("write it as circle: {size:g}", size=outside.thread.diameter))
            continue
        major = outside.major
        if not major.least - 1e-6 <= post.circle <= outside.thread.diameter + 1e-6:
            yield (*at, "circle"), Fault(
                Message("post {name}, {size:g} mm, is none for {thread}: its diameter over the "
                        "thread may be {least:.3f} to {most:.3f} mm", name=name, size=post.circle,
                        thread=outside.name, least=major.least, most=major.most),
                Message("write circle: {size:.3f}", size=major.middle))
            continue
        height = _height(plate, post)
        most = _most_length(post, height)
        if most <= 0 or (post.thread_length or 0.0) > most + 1e-9:
            pitch = outside.thread.pitch
            yield (*at, "thread-length" if post.thread_length else "thread"), Fault(
                Message("post {name} is {height:.4g} mm high: a thread of pitch {pitch:g} mm needs "
                        "one pitch to run out and {free:g} mm above the floor", name=name,
                        height=height, pitch=pitch, free=FREE_OF_FLOOR),
                Message("thread-length: {most} at most, or a deeper pocket", most=no_more(most))
                if most > 0 else Message("a deeper pocket, or a finer thread"))


def _most_length(post: Post, height: float) -> float:
    pitch = outside_thread_of(post.thread or "").thread.pitch
    return height - pitch - FREE_OF_FLOOR


def _height(plate: Plate, post: Post) -> float:
    """From the highest floor beside a post to its top; 0 where it stands in no pocket."""
    mine = path_of(post).region(AREA_CHORD)
    top = post.lowered or 0.0
    deep = [floor.depth - top for floor in floors_of(plate)
            if floor.face == post.face and floor.depth > top + 1e-9
            and any(shapely.symmetric_difference(island.region(AREA_CHORD), mine).area
                    < TOUCHING_AREA for island in floor.area.islands)]
    return min(deep, default=0.0)
