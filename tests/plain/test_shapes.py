"""What plain data must be, and the words in which a fault is told."""

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayhelper.plain.shapes import Shapes
from bayhelper.plain.toml import read_toml
from bayhelper.plain.words import SHOWN_LETTERS, shown
from bayhelper.terms.errors import PlainError


@dataclass(frozen=True)
class Inner:
    size_m: float
    pair: tuple[str, str] = ("a", "b")


@dataclass(frozen=True)
class Outer:
    name: str
    count: int = 1
    on: bool = False
    side: Literal["left", "right"] = "left"
    inner: Inner | None = None
    many: tuple[Inner, ...] = ()
    box: tuple[float, float] | None = None
    words: dict[str, tuple[str, ...]] = field(default_factory=dict)
    slots: dict[str, str | float | int | bool] = field(default_factory=dict)
    at_utc: datetime | None = None


def read(content):
    return Shapes().read(content, Outer, "x.toml", "Correct it.")


def test_what_fits_is_taken_as_it_is():
    found = read(
        {
            "name": "n",
            "inner": {"size_m": 2},
            "many": [{"size_m": 0.5, "pair": ["c", "d"]}],
            "box": [1, 2.5],
            "words": {"wash": ["wet", "floor"]},
            "slots": {"a": 1, "b": 1.0, "c": True, "d": "x"},
            "at_utc": "2026-03-02T10:00:00+01:00",
        }
    )
    assert found == Outer(
        "n",
        inner=Inner(2.0),
        many=(Inner(0.5, ("c", "d")),),
        box=(1.0, 2.5),
        words={"wash": ("wet", "floor")},
        slots={"a": 1, "b": 1.0, "c": True, "d": "x"},
        at_utc=datetime(2026, 3, 2, 9, tzinfo=UTC),
    )
    assert [type(value) for value in found.slots.values()] == [int, float, bool, str]
    assert type(found.inner.size_m) is float
    assert read(Shapes().plain(found)) == found


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ({}, "x.toml: 'name' is missing; it must be a text. Correct it."),
        ({"name": 1}, "x.toml: 'name' must be a text, not 1. Correct it."),
        ({"name": "n", "count": 1.0}, "'count' must be a whole number, not 1.0"),
        ({"name": "n", "count": True}, "'count' must be a whole number, not True"),
        ({"name": "n", "on": 1}, "'on' must be true or false, not 1"),
        ({"name": "n", "side": "top"}, "'side' must be one of left, right, not 'top'"),
        ({"name": "n", "side": ["left"]}, "'side' must be one of left, right, not ['left']"),
        ({"name": "n", "inner": [1]}, "'inner' must be a table, not [1]"),
        ({"name": "n", "inner": {}}, "x.toml [inner]: 'size_m' is missing; it must be a number"),
        ({"name": "n", "inner": {"size_m": True}}, "[inner]: 'size_m' must be a number, not True"),
        ({"name": "n", "many": {}}, "'many' must be a list of tables, not {}"),
        ({"name": "n", "many": [1]}, "entry 1 of 'many' must be a table, not 1"),
        (
            {"name": "n", "many": [{"size_m": 1}, {"size_m": 1, "pair": ["a", 2]}]},
            "x.toml [[many]] number 2: entry 2 of 'pair' must be a text, not 2",
        ),
        (
            {"name": "n", "many": [{"size_m": 1, "pair": "ab"}]},
            "[[many]] number 1: 'pair' must be a pair of texts, not 'ab'",
        ),
        ({"name": "n", "box": [1]}, "'box' must be two numbers, not [1]"),
        ({"name": "n", "box": [1, 10**400]}, "entry 2 of 'box' must be a number that is not as"),
        ({"name": "n", "words": []}, "'words' must be a table, not []"),
        ({"name": "n", "words": {"a": "bc"}}, "x.toml [words]: 'a' must be a list of texts"),
        ({"name": "n", "slots": {"a": None}}, "'a' must be a text or a number or a whole number"),
        ({"name": "n", "at_utc": "2026-03-02T10:00:00"}, "'at_utc' must be a time in RFC 3339"),
        ({"name": "n", "at_utc": "0001-01-01T00:00:00+09:00"}, "'at_utc' must be a time in"),
        ({"name": "n", "inner": {"size_m": 1, "x": 1}}, "x.toml [inner]: unknown key 'x'. Known "),
        ([], "x.toml: it must be a table, not []"),
    ],
)
def test_what_does_not_fit_is_told_with_its_place(content, said):
    with pytest.raises(PlainError) as told:
        read(content)
    assert said in str(told.value)


def test_several_faults_are_told_at_once_but_not_all():
    with pytest.raises(PlainError) as told:
        read({"name": 1, "count": "2", "on": 3, "side": 4, "box": 5})
    text = str(told.value)
    assert text.count("must be") == 3 and "There are 2 more." in text


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.datetimes(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=8,
)


@given(content=PLAIN, key=st.sampled_from(list(Outer.__dataclass_fields__)), value=PLAIN)
def test_nothing_but_our_error_comes_of_any_value(content, key, value):
    for given_one in (content, {"name": "n", key: value}):
        try:
            read(given_one)
        except PlainError as error:
            assert str(error).startswith("x.toml")


def test_a_value_is_shown_on_a_line_whatever_it_is():
    assert shown(math.inf) == "inf"
    assert len(shown("x" * 10_000)) == SHOWN_LETTERS + 3
    assert shown(16**5000) == "a number too long to be shown"
    assert shown([16**5000]) == "a list or table too long to be shown"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"car = \xff", "expected UTF-8, but byte 6"),
        (b"= 1", "not valid TOML"),
        (b"a = " + b"1" * 5000, "usual size"),
        (b"a = " + b"[" * 5000, "usual size"),
    ],
)
def test_a_file_that_is_no_toml_is_told(tmp_path, content, said):
    file = tmp_path / "x.toml"
    file.write_bytes(content)
    with pytest.raises(PlainError, match=said):
        read_toml(file, "x.toml")
