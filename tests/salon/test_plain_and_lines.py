"""Plain values, TOML text and the lines of its keys; :mod:`tomllib` of the standard library is the judge."""

import tomllib
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatwright.salon.lines import line_at, lines_of
from coatwright.salon.plain import Misplaced, from_plain, json_ready, path_text, to_plain
from coatwright.salon.records import DogLimits, DogWish, LayerReading, Visit
from coatwright.salon.toml import toml_of
from tests.salon.making import SHOW, TEXT, visit

PLAIN = st.recursive(
    st.one_of(
        st.text(st.characters(exclude_categories=("Cs",)), max_size=20),
        st.integers(-(2**53), 2**53),
        st.floats(allow_nan=False, allow_infinity=False),
        st.booleans(),
        st.dates(),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.text(st.characters(exclude_categories=("Cs",)), max_size=8), inner, max_size=3),
    ),
    max_leaves=8,
)


@given(st.dictionaries(st.text(st.characters(exclude_categories=("Cs",)), max_size=8), PLAIN, max_size=4))
def test_written_toml_reads_back_equal_by_the_standard_library(table):
    assert tomllib.loads(toml_of(table)) == table


def test_records_come_back_from_their_plain_values():
    for record in (SHOW, visit(date(2027, 1, 1)), DogLimits(cadences=(7,), away=((SHOW.day, SHOW.day),))):
        assert from_plain(type(record), to_plain(record)) == record
        assert from_plain(type(record), json_ready(to_plain(record))) == record


@pytest.mark.parametrize(
    ("kind", "data", "place", "words"),
    [
        (LayerReading, {"share": "half"}, "share", "must be a number"),
        (LayerReading, {"share": True}, "share", "must be a number"),
        (LayerReading, {"share": 1, "pulled": "2027-02-30"}, "pulled", "no day of the calendar"),
        (LayerReading, {"share": 1, "wekes": 3}, "wekes", "'wekes'"),
        (LayerReading, {"weeks": 3}, "", "'share' is missing"),
        (LayerReading, [1], "", "must be a table"),
        (DogLimits, {"cadences": [7, 1.5]}, "cadences[2]", "whole number"),
        (DogLimits, {"cadences": 7}, "cadences", "must be a list"),
        (DogLimits, {"away": [["2027-01-01"]]}, "away[1]", "1 values"),
        (DogWish, {"shows": [{"id": "s", "name": "S", "day": 3}]}, "shows[1].day", "no day"),
        (Visit, {"id": "v", "day": "2027-01-01", "takes": {"back": {"share": 2}}}, "takes.back.share", "200"),
    ],
)
def test_a_wrong_value_is_told_with_its_path(kind, data, place, words):
    with pytest.raises(Misplaced) as caught:
        from_plain(kind, data)
    assert path_text(caught.value.path) == place
    assert words in caught.value.error.what
    assert caught.value.told().remedy


def test_every_key_of_a_file_has_the_line_on_which_it_stands():
    lines = lines_of(TEXT)
    rows = TEXT.splitlines()

    def walk(here, path):
        if isinstance(here, dict):
            for key, item in here.items():
                assert key in rows[lines[(*path, key)] - 1]
                walk(item, (*path, key))
        elif isinstance(here, list):
            for at, item in enumerate(here):
                assert (*path, at) in lines
                walk(item, (*path, at))

    walk(tomllib.loads(TEXT), ())
    assert rows[lines["visits", 1, "takes", "back", "share"] - 1].startswith("back = { share = 0.35")
    assert rows[lines["coat", "layers", 2, "zones"] - 1].startswith("zones = [")


@pytest.mark.parametrize(
    ("text", "path", "line"),
    [
        ('a = """\n[x]\nb = 1\n"""\nc = 2', ("c",), 5),
        ("a = '''\n#'''\nb = 1", ("b",), 3),
        ('a = "quote \\" # not a comment"\nb = 1', ("b",), 2),
        ('a = """ends in quotes""""\nb = 1', ("b",), 2),
        ("a = [ # one\n  1,\n  { b = 2 },\n]\nc = 1", ("a", 1, "b"), 3),
        ("[a.b]\nc.d = 1", ("a", "b", "c", "d"), 2),
        ("[[a]]\n[[a]]\n[[a.b]]\nc = 1", ("a", 1, "b", 0, "c"), 4),
        ('"a b".c = 1', ("a b", "c"), 1),
        ("# nothing\n", ("a",), None),
        ("[a]\r\nb = 1\r\nc = 2\r\n", ("a", "c"), 3),
    ],
)
def test_lines_are_found_through_quotes_brackets_and_comments(text, path, line):
    tomllib.loads(text)
    assert line_at(lines_of(text), path) == line


@given(st.dictionaries(st.text(st.characters(exclude_categories=("Cs",)), max_size=8), PLAIN, max_size=4))
def test_the_scan_for_lines_gets_through_any_toml(table):
    assert {(key,) for key in table} <= set(lines_of(toml_of(table)))
