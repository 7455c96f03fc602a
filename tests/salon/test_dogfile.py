"""A dog's file: read strictly, written so that it reads back equal, and every slip answered with its line."""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coatwright.demo import demo_dogs
from coatwright.errors import (
    CoatwrightError,
    FileFormatError,
    InputError,
    OutOfOrder,
    OutOfRange,
    UnknownName,
)
from coatwright.patterns import copy_with, pattern, write_pattern, zones
from coatwright.salon.coats import coat_of
from coatwright.salon.dogfile import parse_dogfile, read_dogfile
from coatwright.salon.dogwrite import write_dogfile
from coatwright.salon.filetables import KEYS
from coatwright.salon.records import Dog, FixedVisit, LayerReading, PaperCount, Reading, Take, ZoneReading
from tests.salon.making import OWNER, TEXT, TODAY

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
REFERENCE = ROOT / "docs" / "reference" / "dog-file.md"


def read(text, **options):
    return parse_dogfile(text, today=TODAY, name="dog.toml", **options)


def with_(old, new):
    assert TEXT.count(old) >= 1, old
    return TEXT.replace(old, new, 1)


WRONG = {
    "no TOML": ("[wish]", "[wish", FileFormatError, None, "not TOML"),
    "an unknown key": ("minutes = 150", "minuets = 150", UnknownName, None, "Did you mean: minutes"),
    "an unknown table": ("[limits]", "[limit]", UnknownName, None, "Did you mean: limits"),
    "an unknown zone": ("{ back = 0.2, ribs", "{ bakc = 0.2, ribs", UnknownName, None, "Did you mean: back"),
    "an unknown zone of a layer": ('["skull",', '["skul",', UnknownName, "zones = [", "Did you mean: skull"),
    "the 30th of February": ("2027-01-26", "2027-02-30", FileFormatError, None, "2027-02-30 is no day"),
    "the 30th of February in quotes": ("2027-01-26", '"2027-02-30"', FileFormatError, None, "no day"),
    "a take of 140 %": ("share = 0.35", "share = 1.4", OutOfRange, None, "140 %"),
    "a take of more than stands": ("share = 0.35", "share = 0.9", OutOfRange, None, "only 80 %"),
    "a negative length": ("longest_mm = 44", "longest_mm = -44", OutOfRange, None, "-44 mm"),
    "a step of a reading": ("[8, 22.5, 40]", "[8, -22.5, 40]", OutOfRange, None, "-22.5 mm"),
    "a step that is a text": ("[8, 22.5, 40]", '[8, "22.5", 40]', FileFormatError, None, "must be a number"),
    "a look": ('"open"', '"opne"', OutOfRange, None, "'bare', 'thin', 'open', 'close', 'dense'"),
    "a moment": ('at_visit = "after"', 'at_visit = "later"', OutOfRange, None, "'before', 'after'"),
    "grams for kilograms": ("grams = 4.5", "grams = 4500", OutOfRange, "back = {", "4500 g"),
    "an ease": ('ease = "firm"', 'ease = "firmly"', OutOfRange, "back = {", "'easy', 'firm', 'hard'"),
    "half a hair": ("counted_whole = 36", "counted_whole = 36.5", FileFormatError, None, "whole number"),
    "fewer hairs than none": ("counted_broken = 2", "counted_broken = -2", OutOfRange, None, "-2 hairs"),
    "an unknown key of a paper test": ("broken_mm =", "brokn_mm =", UnknownName, None, "broken_mm"),
    "a paper test still to come": (
        "[[papers]]\nday = 2027-01-26",
        "[[papers]]\nday = 2027-04-26",
        OutOfOrder,
        "day = 2027-04-26",
        "The paper test is of 2027-04-26, after today",
    ),
    "a negative length of a layer": ("length_mm = 20", "length_mm = -2", OutOfRange, None, "-2 mm"),
    "a zone without aim": ("[zones.ribs]", "[zones.feet]", OutOfRange, "shape_mm", "no aim for feet"),
    "a show before today": ("day = 2027-06-12", "day = 2027-02-12", OutOfOrder, None, "before today"),
    "a visit in the past of another": ("2027-01-26", "2027-01-02", OutOfOrder, "[[visits]]", "stands after"),
    "a second visit on one day": ("2027-01-26", "2027-01-12", OutOfOrder, None, "second visit"),
    "a visit before the coat was read": (
        "2027-01-12",
        "2026-11-12",
        OutOfOrder,
        "[[visits]]",
        "no assessment",
    ),
    "a visit that is still to come": ("2027-01-26", "2027-04-26", OutOfOrder, None, "after today"),
    "a dog with no hair left": (
        '"cheeks"]\nshare = 1',
        '"cheeks"]\nshare = 0',
        OutOfRange,
        "[[coat.layers]]",
        "no hair left",
    ),
    "layers that do not add up": ("share = 0.8", "share = 0.7", OutOfRange, "[[coat.layers]]", "90 %"),
    "a birth in the future": ("2023-05-02", "2028-05-02", OutOfOrder, None, "born on 2028-05-02"),
    "an unknown pattern": ('"lakeland"', '"lakelund"', UnknownName, None, "lakeland"),
    "a wrong colour": ('"red"', '"blue"', OutOfRange, None, "'blue'"),
    "text for a number": ("weight_kg = 7.2", 'weight_kg = "7 kg"', FileFormatError, None, "must be a number"),
    "growth beyond its limits": ("rate = 0.45", "rate = 45", OutOfRange, None, "45"),
    "a growth value of a zone": ("spread = 0.12", "spred = 0.12", UnknownName, None, "spread"),
    "hair longer than it gets": (
        "length_mm = 20",
        "length_mm = 200",
        OutOfRange,
        "[[coat.layers]]",
        "200 mm",
    ),
    "a fixed take of 105 %": ("share = 0.05", "share = 1.05", OutOfRange, "[[fixed]]", "105 %"),
    "a fixed take of no zone": ('zone = "back"\nday', 'zone = "bakc"\nday', UnknownName, "zone = ", "back"),
    "a weekday": ('"sunday"', '"sonday"', UnknownName, None, "sunday"),
    "away backwards": ("2027-04-18", "2027-04-01", OutOfOrder, None, "from 2027-04-12"),
    "an undercoat": ('"packed"', '"thick"', UnknownName, None, "packed"),
    "an approach": ('"rolling"\nready', '"rollin"\nready', OutOfRange, "approach", "'rollin'"),
    "a layer with two ages": (
        "weeks = 12",
        "weeks = 12\nresting = true",
        OutOfRange,
        "resting",
        "weeks and resting",
    ),
    "a shape that is no number": ("shape_mm = 2", "shape_mm = []", FileFormatError, None, "must be a number"),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_slip_is_answered_with_file_line_and_remedy(case):
    old, new, kind, line, words = WRONG[case]
    text = with_(old, new)
    with pytest.raises(kind) as caught:
        read(text)
    error = caught.value
    number = re.match(r"dog\.toml, line (\d+)", error.where)
    assert number, error.where
    assert (line or new.splitlines()[0]) in text.splitlines()[int(number[1]) - 1]
    assert words in error.text
    assert error.remedy


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('name = "Bramble"\n', "", "no name"),
        ('pattern = "lakeland"\n', "", "no pattern"),
        ("day = 2026-12-01\n", "", "no day"),
        ("day = 2027-03-09\n", "", "'day' is missing"),
        ("day = 2027-01-12\n", "", "'day' is missing"),
    ],
)
def test_what_is_missing_is_named(old, new, words):
    with pytest.raises(FileFormatError, match=words):
        read(with_(old, new))


def test_the_file_is_read_as_it_says():
    file = read(TEXT)
    animal = file.dog
    assert file.today == TODAY
    assert (animal.id, animal.name, animal.pattern) == ("bramble", "Bramble", pattern("lakeland"))
    assert animal.owner.id == "tobias-marlhope"
    assert animal.limits.days_off == (6,)
    assert animal.limits.away == ((date(2027, 4, 12), date(2027, 4, 18)),)
    assert animal.wish.shows[0].id == "fellside-terrier-day"
    assert animal.zone_growth == {"ribs": {"spread": 0.12}}
    assert animal.fixed == {("back", date(2027, 3, 9)): 0.05}
    moved, dropped = animal.fixed_visits
    assert moved == FixedVisit(date(2027, 3, 16), on=date(2027, 3, 18), minutes=90.0)
    assert dropped == FixedVisit(date(2027, 3, 30), dropped=True)
    assert animal.visits[1].takes["back"] == Take(0.35, planned=0.2, tool="fingers", grams=4.5, ease="firm")
    day = date(2027, 1, 26)
    assert animal.readings == (
        Reading("bramble-reading-1", day, "back", 44.0),
        Reading(
            "bramble-reading-2",
            day,
            "ribs",
            steps_mm=(8.0, 22.5, 40.0),
            look="open",
            groomer="Maren Sedgemoor-Pike",
            at_visit="after",
        ),
    )
    assert animal.papers == (
        PaperCount("bramble-paper-1", day, "back", "fingers", "", (41.0, 43.5, 12.0), (20.0,), 36, 2),
    )


def test_a_zone_that_a_row_names_takes_only_the_rows_that_name_it():
    zones_read = read(TEXT).dog.assessments[0].zones
    assert set(zones_read) == set(zones())
    assert zones_read["skull"].layers == (LayerReading(1, length_mm=20),)
    assert zones_read["back"].layers == (LayerReading(0.8, resting=True), LayerReading(0.2, weeks=12))


def test_the_undercoat_of_all_is_that_of_the_zones_that_have_one():
    found = read(TEXT).dog.assessments[0].zones
    assert (found["back"].undercoat, found["feet"].undercoat) == ("packed", "none")
    single = read(with_("[growth]", "single_coat = true\n[growth]")).dog.assessments[0].zones
    assert single["back"].undercoat == "none"
    table = read(with_('"packed"', '{ all = "some", back = "packed" }')).dog.assessments[0].zones
    assert (table["back"].undercoat, table["ribs"].undercoat) == ("packed", "some")


def test_a_take_and_a_carding_of_all_mean_what_is_pulled_and_not_named():
    text = with_("{ back = 0.2, ribs = 0.2 }", "{ all = 0.1, back = 0.2 }").replace('["back"]', '"all"')
    made = read(text).dog.visits[0]
    pulled = [zone for zone, row in zones().items() if row.work == "pull"]
    assert {zone: take.share for zone, take in made.takes.items()} == dict.fromkeys(pulled, 0.1) | {
        "back": 0.2
    }
    assert set(made.carded) == {zone for zone in pulled if zones()[zone].undercoat}


def test_the_day_to_plan_from_is_the_calendars_then_the_files_then_ones_own():
    bare = TEXT.replace("today = 2027-03-01\n", "")
    calendar = date(2027, 3, 20)
    assert parse_dogfile(bare, today=calendar).today == calendar
    assert parse_dogfile(TEXT, today=calendar).today == TODAY
    assert parse_dogfile(TEXT, today=calendar, plan_from=date(2027, 4, 1)).today == date(2027, 4, 1)
    with pytest.raises(OutOfOrder, match="before today"):
        parse_dogfile(TEXT, today=calendar, plan_from=date(2027, 7, 1))


def test_a_written_dog_reads_back_equal():
    file = read(TEXT)
    assert read(write_dogfile(file.dog, file.today)) == file


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_is_read_replayed_and_written(path):
    file = read_dogfile(path, today=date(2026, 1, 1))
    assert file.today.year == 2027
    assert set(coat_of(file.dog, file.today)) == set(zones())
    assert parse_dogfile(write_dogfile(file.dog), today=file.today).dog == file.dog


def test_there_are_three_examples_and_in_one_too_much_was_pulled():
    assert len(EXAMPLES) == 3
    takes = [
        take
        for path in EXAMPLES
        for each in read_dogfile(path, today=date(2026, 1, 1)).dog.visits
        for take in each.takes.values()
    ]
    assert any((take.planned, take.share) == (0.2, 0.35) for take in takes)


def test_every_demo_dog_can_be_written_to_a_file_and_read_back():
    for animal in demo_dogs(TODAY):
        assert parse_dogfile(write_dogfile(animal), today=TODAY).dog == animal


SHARES = st.integers(0, 20).map(lambda step: step / 20)
LAYER = st.one_of(
    st.builds(lambda weeks: {"weeks": weeks}, st.integers(0, 100).map(float)),
    st.builds(lambda weeks, mm: {"weeks": weeks, "cut_to_mm": mm}, st.integers(5, 60).map(float), SHARES),
    st.just({"resting": True}),
)
READING = st.builds(
    lambda layers, word: ZoneReading(tuple(LayerReading(1 / len(layers), **layer) for layer in layers), word),
    st.lists(LAYER, min_size=1, max_size=3),
    st.sampled_from(("none", "some", "packed")),
)
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=30)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    readings=st.dictionaries(st.sampled_from(tuple(zones())), READING, min_size=1, max_size=6),
    notes=st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=60),
    name=WORDS.filter(str.strip),
    single=st.sampled_from((None, True, False)),
)
def test_any_dog_reads_back_equal(readings, notes, name, single):
    base = read(TEXT).dog
    first = replace(base.assessments[0], zones=readings)
    animal = replace(
        base, name=name, notes=notes, single_coat=single, assessments=(first,), visits=(), owner=OWNER
    )
    assert parse_dogfile(write_dogfile(animal), today=TODAY).dog == animal


# --- a pattern of one's own -------------------------------------------------------------------------------


def test_a_pattern_written_out_in_the_file_serves_and_reads_back():
    own = '[pattern]\nbased_on = "lakeland"\n[pattern.aims.back]\nlo = 18\nhi = 28\n\n[growth]'
    text = with_('pattern = "lakeland"\n', "").replace("[growth]", own)
    animal = read(text).dog
    assert (animal.pattern.aims["back"].lo, animal.pattern.aims["back"].hi) == (18, 28)
    assert animal.pattern.aims["ribs"] == pattern("lakeland").aims["ribs"]
    assert parse_dogfile(write_dogfile(animal), today=TODAY).dog == animal


def test_a_slip_in_a_pattern_written_out_is_told_with_the_line_in_the_dogs_file():
    own = '[pattern]\nbased_on = "lakeland"\n[pattern.aims.back]\nlo = 38\nhi = 28\n\n[growth]'
    text = with_('pattern = "lakeland"\n', "").replace("[growth]", own)
    with pytest.raises(InputError) as caught:
        read(text)
    assert caught.value.where == "dog.toml, line 13, pattern.aims.back.hi"


def test_a_pattern_can_stand_in_a_file_of_its_own(tmp_path):
    own = copy_with(pattern("lakeland"), key="own", end_mm={"back": 90.0})
    (tmp_path / "own.toml").write_text(write_pattern(own), encoding="utf-8")
    (tmp_path / "dog.toml").write_text(with_('"lakeland"', '"own.toml"'), encoding="utf-8")
    assert read_dogfile(tmp_path / "dog.toml", today=TODAY).dog.pattern == own
    with pytest.raises(FileFormatError, match=r"other\.toml"):
        read(with_('"lakeland"', '"other.toml"'), folder=tmp_path)


def test_a_pattern_given_twice_is_refused():
    with pytest.raises(FileFormatError, match="twice"):
        read(TEXT + '\n[pattern]\nbased_on = "lakeland"\n')


# --- files that are none ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\xff\xfe\x00", "not text in UTF-8"),
        (b"a = [" * 5000, "TOML|nested"),
        (b"x = 1" + b"0" * 5000, "TOML"),
        (b"", "no name"),
        (b"x = 1" * 1_500_000, "MB"),
    ],
)
def test_a_file_that_is_no_dogs_is_refused(tmp_path, data, words):
    path = tmp_path / "odd.toml"
    path.write_bytes(data)
    with pytest.raises(InputError, match=words) as caught:
        read_dogfile(path, today=TODAY)
    assert caught.value.where.startswith(str(path))


def test_a_file_that_is_not_there_is_said_to_be_missing(tmp_path):
    with pytest.raises(FileFormatError, match="cannot be read"):
        read_dogfile(tmp_path / "nobody.toml", today=TODAY)


def _answer(text):
    try:
        return read(text).dog
    except CoatwrightError as error:
        return error


@settings(max_examples=150, deadline=None)
@given(
    at=st.integers(0, len(TEXT) - 1), junk=st.sampled_from(["", "[", '"', "=", "-", "9", "{", "x", "\n", "."])
)
def test_a_slip_anywhere_is_an_error_of_ours_or_still_a_dog(at, junk):
    answer = _answer(TEXT[:at] + junk + TEXT[at + 1 :])
    assert isinstance(answer, Dog) or (answer.what and answer.remedy)


# --- the reference ----------------------------------------------------------------------------------------


def test_every_key_is_in_the_reference():
    text = REFERENCE.read_text(encoding="utf-8")
    told = set(re.findall(r"`([a-z_]+)`", text))
    missing = {f"{table}.{key}" for table, keys in KEYS.items() for key in keys if key not in told}
    assert not missing
    assert set(zones()) <= told


def test_the_smallest_file_of_the_reference_is_a_dog():
    block = re.findall(r"```toml\n(.*?)```", REFERENCE.read_text(encoding="utf-8"), re.DOTALL)[0]
    assert read(block).dog.name == "Bracken"
