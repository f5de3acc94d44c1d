"""Changes by grammar: a word gone, doubled, swapped, of another kind, a number at its end.

Each takes text that is whole and gives text that is not; where a word begins and ends is known
from the grammar of its kind, so that what is changed is nearly always still read as far as it
can be, and comes deep into what looks at it.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence
from functools import cache

import yaml

from camgen.values import dataclass

__all__ = ["Span", "changed_bytes", "changed_tokens", "changed_yaml"]

NUMBERS = (
    "0", "-0", "-1", "1", "2", "3", "1e308", "-1e308", "1e-308", ".nan", "nan", ".inf", "-.inf",
    "inf", "1e400", "9" * 400, "0.1", "0.0000001", "1e-9", "1e12", "1000000", "100000", "9999",
    "2147483648", "18446744073709551616", "0x10", "010", "1_000", "1:30", "0,25", "1.5.2", "+5",
    "−3", "½", "0.30000000000000004", "3.5e0", "1e3",
)
TEXTS = (
    "", "''", "yes", "no", "~", "null", "true", "[]", "{}", "[[]]", "[1, 2]", "{x: 1}", "é",
    "\"\\x1b[2J\"", "\"a\\nAll proofs hold\"", "\"\\0\"", "\"\\u202e\"", "x" * 500, "\"(G54)\"",
    "../../etc/passwd", "/dev/zero", "file.dxf", "2026-01-02", "!!python/object:os.system x",
    "&a [*a]", "*nowhere", "|\n    one\n    two", "mill", "drill", "axis", "inch", "mm", "top",
    "\"%\"", "\";\"", "{depth: 0.1}", "cut-teeth", "all", "[mill]",
)
UNITS = ("mm", " mm", "in", "um", "°", "%", " \"", "e", "k")
DEEP = (
    "[" * 39 + "]" * 39, "[" * 3000 + "]" * 3000, "{a: " * 60 + "1" + "}" * 60, "[" * 500,
    "{a: " * 2000,
)
_FIGURE = re.compile(r"-?\d+\.?\d*")
_NUMBER = re.compile(r"[-+]?\d+(\.\d*)?([eE][-+]?\d+)?\Z")


@dataclass(frozen=True, slots=True)
class Span:
    """A piece of a text: where it begins and ends, and ``whole``, with the word before its colon.

    ``sort`` is number, text, list or words.
    """

    begin: int
    end: int
    whole: tuple[int, int]
    key: tuple[int, int]
    sort: str


@cache
def spans_of(text: str) -> tuple[Span, ...]:
    """Every value of a YAML or JSON text with its word."""
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    found: list[Span] = []
    todo = [(yaml.compose(text, Loader=loader), (0, 0), (0, 0))]
    while todo:
        node, key, whole = todo.pop()
        begin, end = node.start_mark.index, node.end_mark.index
        whole = whole if whole != (0, 0) else (begin, end)
        sort = "list" if isinstance(node, yaml.SequenceNode) else (
            "words" if isinstance(node, yaml.MappingNode) else
            "number" if _NUMBER.match(text[begin:end]) else "text")
        found.append(Span(begin, end, whole, key, sort))
        if isinstance(node, yaml.MappingNode):
            for word, value in node.value:
                at = (word.start_mark.index, word.end_mark.index)
                todo.append((value, at, (at[0], value.end_mark.index)))
        elif isinstance(node, yaml.SequenceNode):
            todo += [(item, (0, 0), (0, 0)) for item in node.value]
    return tuple(found)


def _gone(text: str, one: Span, _: Span, chance: random.Random) -> str:
    end = one.whole[1]
    if text[end:end + 2] == ", ":
        end += 2
    return text[:one.whole[0]] + text[end:]


def _doubled(text: str, one: Span, _: Span, chance: random.Random) -> str:
    begin, end = one.whole
    line = text.rfind("\n", 0, begin) + 1
    before = text[line:begin]
    joint = ", " if before.strip(" -") or text[end:end + 1] in ",]}" else (
        "" if text[begin:end].endswith("\n") else "\n") + " " * len(before)
    return text[:end] + joint + text[begin:end] + text[end:]


def _other(text: str, one: Span, _: Span, chance: random.Random) -> str:
    new = chance.choice(NUMBERS if one.sort == "number" and chance.random() < 0.75 else TEXTS)
    return text[:one.begin] + new + text[one.end:]


def _near(text: str, one: Span, _: Span, chance: random.Random) -> str:
    """A number near its own: ten times, a half, a thousandth, the other sign, one more."""
    if not _NUMBER.match(text[one.begin:one.end]):
        return _other(text, one, one, chance)
    value = float(text[one.begin:one.end])
    new = chance.choice([value * 10, value / 2, value / 1000, -value, value + 1, value * 25.4,
                         value * 1000, value * 1.0001])
    said = str(int(new)) if new == int(new) else f"{new:.9g}"
    return text[:one.begin] + said + text[one.end:]


def _swapped(text: str, one: Span, other: Span, chance: random.Random) -> str:
    """Two values, two words, or two whole entries in each other's place."""
    first, second = chance.choice([
        ((one.begin, one.end), (other.begin, other.end)), (one.key, other.key),
        (one.whole, other.whole)])
    (a, b), (c, d) = sorted((first, second))
    if b > c:
        return _other(text, one, other, chance)
    return text[:a] + text[c:d] + text[b:c] + text[a:b] + text[d:]


def _emptied(text: str, one: Span, _: Span, chance: random.Random) -> str:
    empty = {"list": "[]", "words": "{}"}.get(one.sort, "")
    joint = " " if text[one.begin - 1:one.begin] in ":-" else ""
    tail = "\n" if text[one.begin:one.end].endswith("\n") else ""
    if one.sort in ("list", "words") and text[one.begin] not in "[{":
        joint = " "
    return text[:one.begin] + joint + empty + tail + text[one.end:]


def _deep(text: str, one: Span, _: Span, chance: random.Random) -> str:
    return text[:one.begin] + chance.choice(DEEP) + text[one.end:]


def _alias(text: str, one: Span, other: Span, chance: random.Random) -> str:
    """One value marked and repeated elsewhere; or very many times, each time twice the last."""
    first, second = sorted((one, other), key=lambda span: span.begin)
    if first.end > second.begin:
        bomb = "\n".join(f"{chr(97 + n)}: &{chr(97 + n)} [{', '.join([f'*{chr(96 + n)}'] * 9)}]"
                         for n in range(1, 9))
        return f"a: &a [x]\n{bomb}\n{text}"
    return (text[:first.begin] + "&same " + text[first.begin:second.begin] + "*same"
            + text[second.end:])


def _units(text: str, one: Span, _: Span, chance: random.Random) -> str:
    if chance.random() < 0.3:
        return f"units: {chance.choice(['inch', 'mm', 'metre', '1'])}\n{text}"
    return text[:one.end] + chance.choice(UNITS) + text[one.end:]


def _control(text: str, one: Span, _: Span, chance: random.Random) -> str:
    at = chance.randint(one.begin, one.end)
    sign = chance.choice(["\x00", "\x1b[2J", "\r", "\x07", "\t", "\u2028", "\u202e", "\ufeff",
                          "\x85", "\x7f", "\ud7ff", "\U0001f600", "'", "\"", "#", ": ", "- "])
    return text[:at] + sign + text[at:]


def _word(text: str, one: Span, other: Span, chance: random.Random) -> str:
    """A word in place of another word."""
    begin, end = one.key
    if begin == end:
        return _other(text, one, other, chance)
    new = chance.choice([text[other.key[0]:other.key[1]] or "x", text[begin:end][:-1], "x" * 300,
                         text[begin:end].upper(), "<<", "? a", "1", "null", "\"a\\nb\""])
    return text[:begin] + new + text[end:]


def _very_many(text: str, one: Span, _: Span, chance: random.Random) -> str:
    """An entry of a list very many times."""
    if one.sort != "list" or text[one.begin] != "[":
        return _near(text, one, one, chance)
    inner = text[one.begin + 1:one.end - 1]
    return text[:one.begin + 1] + ", ".join([inner] * chance.choice([3, 50, 3000])) + text[
        one.end - 1:]


_YAML: tuple[Callable[[str, Span, Span, random.Random], str], ...] = (
    _gone, _doubled, _other, _other, _near, _near, _near, _swapped, _swapped, _emptied, _deep,
    _alias, _units, _control, _word, _very_many,
)


def changed_yaml(text: str, chance: random.Random, most: int = 2) -> str:
    """``text`` with one thing changed, or as many as ``most``; the later from its end backwards."""
    spans = spans_of(text)
    count = chance.choice([1] * 4 + list(range(1, most + 1)))
    limit = len(text)
    for _ in range(count):
        within = [span for span in spans if max(span.end, span.whole[1]) <= limit]
        if not within:
            break
        one, other = chance.choice(within), chance.choice(within)
        numbers = [span for span in within if span.sort == "number"]
        change = chance.choice(_YAML)
        if numbers and chance.random() < 0.5:  # still well written, and another job
            one, change = chance.choice(numbers), _near
        text = change(text, one, other, chance)
        # What stands before the first place that was changed is still where it was.
        limit = min(place for span in (one, other)
                    for place in (span.begin, span.whole[0], span.key[0] or span.begin))
    return text


def changed_tokens(
    tokens: Sequence[str], chance: random.Random, ends: Sequence[str], most: int = 3
) -> list[str]:
    """A row of words with some gone, doubled, swapped, at their ends, very many or very long."""
    row = list(tokens)
    for _ in range(chance.randint(1, most)):
        if not row:
            break
        at, to = chance.randrange(len(row)), chance.randrange(len(row))
        way = chance.randrange(9)
        if chance.random() < 0.5:  # another number in place of one
            at = next((n for n in (*range(at, len(row)), *range(at))
                       if _FIGURE.search(row[n])), at)
            way = 8
        if way == 0:
            del row[at]
        elif way == 1:
            row.insert(at, row[at])
        elif way == 2:
            row[at], row[to] = row[to], row[at]
        elif way == 3:
            row[at] = row[to]
        elif way in (4, 5):
            row[at] = chance.choice(ends)
        elif way == 6:
            begin, end = sorted((at, min(to, at + 30)))
            row[begin:begin] = row[begin:end] * chance.choice([1, 1, 2, 40])
        elif way == 7:
            begin, end = sorted((at, min(to, at + 30)))
            del row[begin:end]
        else:
            row[at] = _number_near(row[at], chance)
    return row


def _number_near(word: str, chance: random.Random) -> str:
    found = list(_FIGURE.finditer(word))
    if not found:
        return word + chance.choice(["x", "1", "-", ".", "\x00", "\n"])
    one = chance.choice(found)
    value = float(one[0])
    new = chance.choice(["nan", "1e308", "-0", "9" * 50, f"{value * 1e6:g}", "0", ""] if
                        chance.random() < 0.3 else [
                            f"{value * 10:g}", f"{-value:g}", f"{value / 3:g}", f"{value + 1:g}",
                            f"{value * 1.001:.9g}"])
    return word[:one.start()] + new + word[one.end():]


def changed_bytes(content: bytes, chance: random.Random) -> bytes:
    """Cut off, a byte put in, some left out, a part doubled, some turned over."""
    at = chance.randrange(len(content) or 1)
    way = chance.randrange(5)
    if way == 0:
        return content[:at]
    if way == 1:
        return content[:at] + bytes([chance.randrange(256)]) + content[at:]
    if way == 2:
        return content[:at] + content[at + chance.randrange(1, 30):]
    if way == 3:
        return content[:at] + content[at // 2:at] + content[at:]
    return content[:at] + bytes(b ^ 255 for b in content[at:at + 4]) + content[at + 4:]
