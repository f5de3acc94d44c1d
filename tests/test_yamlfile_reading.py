"""Text to plain data: what is taken, what is refused, and that nothing runs away."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from camgen.faults import Refused
from camgen.yamlfile import Bounds, load_yaml, path_words, read_yaml


def message_of(text: str | bytes, bounds: Bounds | None = None) -> str:
    with pytest.raises(Refused) as no:
        load_yaml(text, "a.yaml", bounds or Bounds())
    return str(no.value)


def test_places_are_those_of_keys_and_values() -> None:
    document = load_yaml("job: x\nwheel:\n  teeth: 75\nlist:\n  - {a: 1}\n", "a.yaml")
    assert str(document.place(("wheel", "teeth"))) == "a.yaml, line 3, column 10, wheel.teeth"
    assert str(document.place(("wheel", "teeth"), key=True)).startswith("a.yaml, line 3, column 3")
    assert str(document.place(("list", 0, "a"))) == "a.yaml, line 5, column 9, list[0].a"
    assert document.data == {"job": "x", "wheel": {"teeth": 75}, "list": ({"a": 1},)}


def test_a_missing_word_has_the_place_of_what_should_hold_it() -> None:
    document = load_yaml("a: 1\nwheel:\n  teeth: 75\n", "a.yaml")
    place = document.place(("wheel", "module"))
    assert (place.line, place.column, place.path) == (2, 1, "wheel.module")


def test_an_alias_repeats_a_value_and_has_the_place_of_its_anchor() -> None:
    document = load_yaml("a: &x {b: 1}\nc: *x\n", "a.yaml")
    assert document.data["c"] == {"b": 1}
    assert document.place(("c", "b")).line == 1
    assert document.place(("c",), key=True).line == 2


@pytest.mark.parametrize(("text", "value"), [
    ("75", 75), ("-3", -3), ("0.25", 0.25), (".5", 0.5), ("5.", 5.0), ("1.5e-3", 0.0015),
    ("true", True), ("no", False), ("Off", False), ("null", None), ("~", None), ("", None),
    ("1:30", "1:30"), ("010", "010"), ("1e-3", "1e-3"), ("0x1F", "0x1F"), ("1_000", "1_000"),
    ("2026-01-02", "2026-01-02"), ("0,25", "0,25"), ('"75"', "75"), ("'no'", "no"),
    ("9999999999999999999999", "9999999999999999999999"), ("y", "y"), ("=", "="),
])
def test_a_bare_word_means_one_thing(text: str, value: object) -> None:
    read = load_yaml(f"a: {text}", "a.yaml").data["a"]
    assert read == value
    assert type(read) is type(value)


@pytest.mark.parametrize(("text", "words"), [
    ("", "holds nothing"),
    ("# only a remark\n", "holds nothing"),
    ("a: 1\x00", "cannot be seen"),
    ("a: 1\x07", "line 1, column 5"),
    ("a: \u200b1\x1b", "cannot be seen"),
    (b"\xff\xfea\x00", "UTF-16"),
    ("job: caf\u00e9".encode("latin-1"), "line 1, column 9: the file is not written in UTF-8"),
    ("[" * 60, "nested deeper than 40"),
    ("a: !!python/name:os.system x", "the tag !!python/name:os.system is not allowed"),
    ("a: !!int '3'", "the tag !!int is not allowed"),
    ("a: *b", "no anchor of this name"),
    ("&a [*a]", "inside what it repeats"),
    ("a: 1.0e+300", "1.0e+300 is too large a number for anything here"),
    ("a: 1.0e-20", "1.0e-20 is too small a number for anything here"),
    ("a: 999999999999999999", "too large"),
    ("%YAML 3.0\n---\na: 1", "a line beginning with %"),
    ("? {a: 1}\n: 2", "cannot be a key"),
    ('"": 3', "without a word before its colon"),
    ("a: 1\na: 2\na: 3", "line 3"),
    ("a:\u00a01\nb: 2", "non-breaking space"),
])
def test_text_that_cannot_be_is_refused(text: str | bytes, words: str) -> None:
    assert words in message_of(text)


def test_every_double_key_and_tag_is_named_at_once() -> None:
    text = message_of("a: 1\na: 2\nb: !x 3\n<<: {c: 1}\n")
    assert "line 2" in text
    assert "line 3" in text
    assert "line 4" in text


def test_doubling_aliases_are_stopped_early() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 10)]
    # Written out these would be ten thousand million values: the test would never end.
    assert "aliases are written out" in message_of("\n".join(lines))


def test_size_and_number_of_aliases_are_bounded() -> None:
    assert "larger than" in message_of("a" * 1_000_001)
    assert "more than 200 aliases" in message_of("a: &x 1\nb: [" + "*x, " * 300 + "]")


def test_a_byte_order_mark_and_windows_lines_are_nothing_special() -> None:
    document = load_yaml(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n", "a.yaml")
    assert document.data == {"a": 1, "b": 2}
    assert document.place(("b",)).line == 2


@pytest.mark.parametrize("name", ["there-is-none.yaml", "", "a\x00b.yaml", "x" * 300])
def test_a_file_that_cannot_be_opened_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(Refused):
        read_yaml(tmp_path / name)


def test_a_file_name_nearly_right_is_answered_with_the_right_one(tmp_path: Path) -> None:
    (tmp_path / "third-wheel.yaml").write_text("a: 1")
    with pytest.raises(Refused, match=r"did you mean .*third-wheel.yaml"):
        read_yaml(tmp_path / "thirdwheel.yaml")


def test_paths_are_written_in_the_files_own_words() -> None:
    assert path_words(("setups", 0, "steps", 2, "drill", "cutter")) == (
        "setups[0].steps[2].drill.cutter")
    assert path_words(()) == ""


words = st.text("abcdefgh-", min_size=1, max_size=6).filter(lambda word: word.strip("-"))
plain = st.recursive(
    st.none() | st.booleans() | st.integers(-10**9, 10**9)
    | st.floats(-1e6, 1e6).map(lambda value: round(value, 6)) | words,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4),
    max_leaves=12,
)


def as_tuples(data: object) -> object:
    if isinstance(data, list):
        return tuple(as_tuples(part) for part in data)
    if isinstance(data, dict):
        return {key: as_tuples(value) for key, value in data.items()}
    return data


@given(st.dictionaries(words, plain, min_size=1, max_size=5))
def test_what_an_independent_writer_writes_is_read_the_same(data: dict[str, object]) -> None:
    text = yaml.safe_dump(data, allow_unicode=True)
    assert load_yaml(text, "a.yaml").data == as_tuples(data)


def load_or_refuse(text: str | bytes) -> bool:
    """True when the text is read, or refused with faults that name the file."""
    try:
        load_yaml(text, "a.yaml")
    except Refused as no:
        return bool(no.faults) and all(fault.place.file == "a.yaml" for fault in no.faults)
    return True


@given(st.text(max_size=80) | st.text("a:-[]{}&*!|>%@`'\"# \n\t,?", max_size=60))
def test_no_text_whatever_ends_in_anything_but_data_or_a_refusal(text: str) -> None:
    assert load_or_refuse(text)


@given(st.binary(max_size=60))
def test_no_bytes_whatever_end_in_anything_but_data_or_a_refusal(content: bytes) -> None:
    assert load_or_refuse(content)
