"""A user's pattern file: read strictly, written so that it reads back equal, and every slip answered."""

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatwright.errors import FileFormatError, OutOfRange, UnknownName
from coatwright.patterns import (
    COLOURS,
    MARKS,
    Band,
    aimed_zones,
    copy_with,
    pattern,
    patterns,
    read_pattern,
    with_shape,
    write_pattern,
    zones,
)
from coatwright.patterns.reading import TOP_KEYS, parse_pattern
from coatwright.patterns.shapes import BUILDS, EARS, TAILS

HOW_TO = Path(__file__).parents[2] / "docs" / "how-to" / "own-pattern.md"
WHOLE = write_pattern(pattern("lakeland"))


def parsed(text):
    return parse_pattern(text, "own.toml", "own", pattern)


def refused(text):
    with pytest.raises(FileFormatError) as caught:
        parsed(text)
    assert caught.value.where.startswith("own.toml")
    assert caught.value.what
    assert caught.value.remedy
    return caught.value


def answer(text):
    """The pattern, or the error that it is answered with."""
    try:
        return parsed(text)
    except FileFormatError as error:
        return error


def line_of(text, start):
    return next(n for n, line in enumerate(text.splitlines(), start=1) if line.startswith(start))


def with_line(start, line):
    """The whole Lakeland file with the line that begins with ``start`` replaced."""
    at = line_of(WHOLE, start)
    lines = WHOLE.splitlines()
    return "\n".join([*lines[: at - 1], *([line] if line else []), *lines[at:]]), at


@pytest.mark.parametrize("key", sorted(patterns()))
def test_every_pattern_reads_back_equal(key):
    assert parsed(write_pattern(pattern(key))) == pattern(key)


texts = st.text(st.characters(codec="utf-8"), min_size=1, max_size=40).filter(str.strip)
lengths = st.floats(0, 60, allow_subnormal=False)
bands = st.builds(
    lambda lo, more, judged, mark, source, note: Band(lo, lo + more, judged, mark, source, note),
    lengths,
    st.floats(0.5, 60),
    st.booleans(),
    st.sampled_from(sorted(MARKS)),
    texts,
    texts | st.just(""),
)


@settings(max_examples=60)
@given(
    key=st.sampled_from(sorted(patterns())),
    name=texts,
    aims=st.dictionaries(st.sampled_from(aimed_zones()), bands, max_size=6),
    end=st.floats(130, 400),
    colours=st.lists(st.sampled_from(COLOURS), min_size=1, max_size=3),
    double=st.booleans(),
    card=st.integers(1, 365),
    weight=st.floats(0.5, 150),
)
def test_any_copy_with_changes_reads_back_equal(key, name, aims, end, colours, double, card, weight):
    mine = copy_with(
        pattern(key),
        key="mine",
        name=name,
        aims=aims,
        end_mm=dict.fromkeys(zones(), end),
        colours=colours,
        double_coat=double,
        carding_days=card,
        weight_kg=weight,
    )
    assert parsed(write_pattern(mine)) == mine
    again = copy_with(mine, aims={"back": Band(3, 9, True, "P", "another hand")})
    assert parsed(write_pattern(again)) == again
    assert again.based_on == key


def test_a_file_based_on_a_pattern_lists_changes_only():
    mine = parsed('based_on = "lakeland"\n[aims]\nback = { hi = 30 }\nbeard = { judged = false }\n')
    base = pattern("lakeland")
    assert (mine.aims["back"].lo, mine.aims["back"].hi) == (13.0, 30.0)
    assert mine.aims["back"].mark == "P"
    assert "Own change" in mine.aims["back"].source
    assert not mine.aims["beard"].judged
    assert mine.aims["beard"].source == base.aims["beard"].source
    assert {key: band for key, band in mine.aims.items() if key not in ("back", "beard")} == {
        key: band for key, band in base.aims.items() if key not in ("back", "beard")
    }
    assert mine.end_mm == base.end_mm
    assert (mine.key, mine.based_on) == ("own", "lakeland")
    assert parsed(write_pattern(mine)) == mine


def test_a_change_may_name_its_own_source():
    mine = parsed(
        'based_on = "lakeland"\n[sources]\nclub = { mark = "R", text = "Club table" }\n'
        '[aims]\nback.lo = 15\nback.source = "club"\n[end_mm]\neverywhere = 150\nears = 50\n'
    )
    assert mine.aims["back"].mark == "R"
    assert mine.aims["back"].source == "Club table"
    assert mine.end_mm["ears"] == 50.0
    assert mine.end_mm["back"] == 150.0


def test_the_key_comes_from_the_file_name(tmp_path):
    file = tmp_path / "My Own-Lakeland 2.toml"
    file.write_bytes(b'\xef\xbb\xbfbased_on = "lakeland"\r\n')
    assert read_pattern(file).key == "my_own_lakeland_2"
    assert read_pattern(str(file)).name == "Lakeland Terrier, own"


@pytest.mark.parametrize(
    ("start", "line", "key", "words"),
    [
        ("back =", "back = { lo = -3, hi = 25, source = 'akc' }", "aims.back.lo", "0 to 400 mm"),
        ("back =", "back = { lo = 30, hi = 25, source = 'akc' }", "aims.back.hi", "more than the shortest"),
        ("back =", "back = { lo = 25, hi = 25, source = 'akc' }", "aims.back.hi", "more than the shortest"),
        ("back =", "back = { lo = 13, hi = 25000, source = 'akc' }", "aims.back.hi", "0 to 400 mm"),
        ("back =", "back = { lo = 13, hi = 390, source = 'akc' }", "end_mm.back", "Lower hi"),
        ("back =", "back = { lo = nan, hi = 25, source = 'akc' }", "aims.back.lo", "number"),
        ("back =", "back = { lo = '13', hi = 25, source = 'akc' }", "aims.back.lo", "without quotes"),
        ("back =", "back = { lo = true, hi = 25, source = 'akc' }", "aims.back.lo", "without quotes"),
        ("back =", f"back = {{ lo = 1{'0' * 400}, hi = 25, source = 'akc' }}", "aims.back.lo", "number"),
        ("back =", "back = { lo = 13, hi = 25 }", "aims.back.source", "akc"),
        ("back =", "back = { lo = 13, hi = 25, source = '' }", "aims.back.source", "akc"),
        ("back =", "back = { lo = 13, hi = 25, source = 'kc' }", "aims.back.source", "akc"),
        ("back =", "back = { hi = 25, source = 'akc' }", "aims.back.lo", "lo"),
        ("back =", "back = { lo = 13, high = 25, source = 'akc' }", "aims.back.high", "hi"),
        ("back =", "back = 25", "aims.back", "table"),
        ("back =", "bck = { lo = 13, hi = 25, source = 'akc' }", "aims.bck", "back"),
        ("back =", "feet = { lo = 13, hi = 25, source = 'akc' }", "aims.feet", "Take it out"),
        ("back =", None, "aims", "back"),
        ("akc =", "akc = { mark = 'X', text = 'words' }", "sources.akc.mark", "M, P, R"),
        ("akc =", "akc = { mark = 'M', text = '  ' }", "sources.akc.text", "Name the source"),
        ("akc =", "akc = { mark = 'M' }", "sources.akc.text", "Add it"),
        ("akc =", "akc = { mark = 'M', text = 'words', page = 3 }", "sources.akc.page", "mark, text"),
        ("beard =", "beerd = 140", "end_mm.beerd", "beard"),
        ("beard =", "beard = 0", "end_mm.beard", "between 1 and 500"),
        ("name =", "name = ''", "name", "few words"),
        ("name =", "nmae = 'Lakeland'", "nmae", "name"),
        ("name =", None, "name", "missing"),
        ("key =", "key = 'My Key'", "key", "small letters"),
        ("build =", "build = 'squat'", "build", "square"),
        ("ears =", "ears = 'droop'", "ears", "drop"),
        ("tail =", "tail = 'levl'", "tail", "level"),
        ("colours =", "colours = []", "colours", "red"),
        ("colours =", "colours = ['rde']", "colours", "red"),
        ("colours =", "colours = 'red'", "colours", "list"),
        ("height_mm =", "height_mm = 37", "height_mm", "between 100 and 1200"),
        ("weight_kg =", "weight_kg = inf", "weight_kg", "number"),
        ("double_coat =", "double_coat = 'yes'", "double_coat", "true or false"),
        ("carding_days =", "carding_days = 0", "carding_days", "between 1 and 365"),
        ("carding_days =", "carding_days = 7.5", "carding_days", "whole"),
        ("year_checked =", "year_checked = 26", "year_checked", "between 1900"),
        ("practice_note =", "practice_note = ' '", "practice_note", "few words"),
        ("[sources]", "based_on = 'lakelnd'\n[sources]", "based_on", "lakeland"),
    ],
)
def test_each_slip_names_line_key_and_remedy(start, line, key, words):
    text, at = with_line(start, line)
    error = refused(text)
    place = error.where.split(", ")
    assert place[-1] == key
    assert words in f"{error.what} {error.remedy}"
    if line is not None and not key.startswith("end_mm.back"):
        assert place[1] == f"line {at}"


def test_a_zone_without_an_aim_and_a_table_left_out_are_named():
    text, _ = with_line("rear =", None)
    assert "rear has no aim" in refused(text).what
    assert "aims" in refused(WHOLE[: WHOLE.index("[aims]")]).where
    assert "sources" in refused("\n".join(WHOLE.splitlines()[:11])).where
    text, _ = with_line("everywhere =", None)
    assert "has no end length" in refused(text).what


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("name = Lakeland", "line 1, column 8"),
        ("name = 'a'\nname = 'b'", "line 2"),
        ("[aims.back]\nlo = 3\n[aims]\nback = 3", "line 4"),
        ("[a]\nb = 3\n[c]\n[a]", "line 4"),
        ("[aims\nback = 3", "line 1"),
        ("born = 2026-02-30", "line 1"),
        ("name = 'a", "own.toml"),
        ("<html></html>", "line 1"),
    ],
)
def test_what_is_not_toml_is_told_with_its_line(text, place):
    error = refused(text)
    assert "not TOML" in error.what
    assert place in error.where


def test_a_header_of_its_own_and_a_text_over_lines_do_not_mislead_the_line():
    text = (
        'based_on = "lakeland"\npractice_note = """\nback = 1\n[aims.back]\n"""\n\n'
        "[ aims . back ] # the jacket\n# lo = 3\nhi = 5\n"
    )
    assert "line 9, aims.back.hi" in refused(text).where


def test_files_that_cannot_be_patterns(tmp_path):
    with pytest.raises(FileFormatError, match="cannot be read"):
        read_pattern(tmp_path / "none.toml")
    with pytest.raises(FileFormatError, match="cannot be read"):
        read_pattern(tmp_path)
    (tmp_path / "latin.toml").write_bytes('based_on = "lakeland"\nname = "Größe"\n'.encode("latin-1"))
    with pytest.raises(FileFormatError, match="line 2: The file is not text in UTF-8"):
        read_pattern(tmp_path / "latin.toml")
    (tmp_path / "large.toml").write_bytes(b"#" * 1_000_001)
    with pytest.raises(FileFormatError, match=r"1\.0 MB"):
        read_pattern(tmp_path / "large.toml")
    (tmp_path / "deep.toml").write_text("a = " + "[" * 100_000, encoding="utf-8")
    with pytest.raises(FileFormatError):
        read_pattern(tmp_path / "deep.toml")


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_no_damage_to_a_file_gets_past_as_anything_but_a_clear_error(data):
    text = WHOLE
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(text) - 1))
        drop = data.draw(st.sampled_from([0, 1, 1, 2, 40]))
        add = data.draw(
            st.sampled_from(["", '"', "=", "\n", "[", "]", "{", "-", "9", ".", "nan", "\x00", "ß"])
        )
        text = text[:at] + add + text[at + drop :]
    found = answer(text)
    if isinstance(found, FileFormatError):
        assert found.where.startswith("own.toml")
        assert found.remedy
    else:
        assert parsed(write_pattern(found)) == found


@settings(max_examples=100, deadline=None)
@given(st.text(st.characters(codec="utf-8"), max_size=200))
def test_any_text_is_answered(text):
    with pytest.raises(FileFormatError):
        parsed(text)


def test_copies_refuse_what_does_not_fit():
    base = pattern("border")
    with pytest.raises(UnknownName, match="ribs"):
        copy_with(base, aims={"rib": base.aims["ribs"]})
    with pytest.raises(UnknownName, match="weight_kg"):
        copy_with(base, weight=8.0)
    with pytest.raises(OutOfRange, match="end_mm"):
        copy_with(base, end_mm={"back": 10.0})
    with pytest.raises(OutOfRange, match="scissored"):
        copy_with(base, aims={"feet": base.aims["ribs"]})
    with pytest.raises(OutOfRange, match="no source"):
        Band(3, 9, True, "P", " ")
    with pytest.raises(UnknownName, match="mark"):
        Band(3, 9, True, "Q", "words")


def test_a_copy_keeps_the_rest_and_remembers_where_it_comes_from():
    base = pattern("border")
    mine = copy_with(base, aims={"back": Band(15, 30, True, "P", "own eye")})
    assert (mine.key, mine.name, mine.based_on) == ("own_border", "Border Terrier, own", "border")
    assert mine.aims["back"].hi == 30
    assert mine.aims["ribs"] == base.aims["ribs"]
    assert "own eye" in {source.text for source in mine.sources.values()}
    assert base.aims["back"].hi == 32
    stranger = copy_with(parsed(WHOLE.replace('"lakeland"', '"stranger"', 1)), key="third")
    assert stranger.based_on == ""


@given(bands, st.floats(-150, 150))
def test_a_shape_note_moves_the_band_but_never_closes_it(band, mm):
    moved = with_shape(band, mm)
    assert 0 <= moved.lo < moved.hi
    assert (moved.judged, moved.mark, moved.source) == (band.judged, band.mark, band.source)
    if band.lo + mm >= 0 and band.hi - band.lo >= 1:
        assert moved.lo == band.lo + mm
        assert moved.hi == pytest.approx(band.hi + mm)
    if mm == 0:
        assert moved == band


def test_a_shape_note_by_hand():
    band = pattern("lakeland").aims["back"]
    assert (with_shape(band, 4).lo, with_shape(band, 4).hi) == (17, 29)
    assert (with_shape(band, -15).lo, with_shape(band, -15).hi) == (0, 10)
    assert (with_shape(band, -90).lo, with_shape(band, -90).hi) == (0, 1)
    with pytest.raises(OutOfRange):
        with_shape(band, float("nan"))


def test_the_how_to_tells_the_truth():
    text = HOW_TO.read_text(encoding="utf-8")
    examples = re.findall(r"```toml\n(.*?)```", text, re.DOTALL)
    assert len(examples) == 2
    first, second = (parsed(example) for example in examples)
    assert first.aims["forelegs"].hi == 55
    assert second.aims["back"].mark == "R"
    for key in (*TOP_KEYS, *BUILDS, *EARS, *TAILS, *COLOURS):
        assert f"`{key}`" in text or f"`[{key}]`" in text
    error = refused(WHOLE.replace("back = { lo = 13, hi = 25", "back = { lo = 30, hi = 20"))
    shown = re.search(r"hill_terrier\.toml, line \d+, (.*)\n", text)
    assert shown
    assert error.text.endswith(shown[1])


def test_the_how_to_gives_the_lengths_that_a_rolling_coat_needs():
    # Closed form: cover after a pull 1 - L / (hi/r + L), hence hi = r L f / (1 - f); L 28 d and
    # r 0.45 mm/d are common practice.
    text = " ".join(HOW_TO.read_text(encoding="utf-8").split())
    assert f"60 % cover needs `hi` of about {0.45 * 28 * 0.6 / 0.4:.0f} mm" in text
    assert f"one of 50 % cover about {0.45 * 28 * 0.5 / 0.5:.0f} mm" in text
    assert round(7 / 0.45) == 16
    assert "7 mm is held for about 16 days" in text
