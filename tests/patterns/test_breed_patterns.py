"""The patterns that come with the program, held against published lengths and against what hair can do."""

import pickle
import subprocess
import sys

import pytest

from coatwright.errors import UnknownName
from coatwright.patterns import COLOURS, MARKS, aimed_zones, pattern, patterns, zones
from coatwright.patterns.shapes import BUILDS

BODY = ("back", "ribs", "croup")

# Lengths stated in published breed standards, mm: (pattern, zones, numbers, mark, words of the source).
# Marks: R read in a copy of the source, M from memory of it. Two numbers are a range, one a length.
PUBLISHED = [
    ("standard_schnauzer", ("back",), (19, 51), "R", "American Kennel Club"),
    ("wire_fox", ("shoulders",), (20,), "R", "The Kennel Club"),
    ("wire_fox", (*BODY, "thighs"), (40,), "R", "The Kennel Club"),
    ("west_highland_white", BODY, (51,), "R", "American Kennel Club"),
    ("norfolk", BODY, (38, 51), "R", "American Kennel Club"),
    ("dandie_dinmont", (*BODY, "forelegs", "tail"), (51,), "R", "1876"),
    ("australian", BODY, (64,), "R", "American Kennel Club"),
    ("scottish", BODY, (51,), "R", "First club standards"),
    ("lakeland", BODY, (13, 25), "M", "American Kennel Club"),
    ("german_wirehaired_pointer", BODY, (20, 40), "R", "FCI standard 98"),
    ("wirehaired_vizsla", (*BODY, "beard"), (20, 30), "R", "FCI standard 239"),
    ("spinone", BODY, (40, 60), "R", "FCI standard 165"),
    ("otterhound", BODY, (40, 80), "R", "The Kennel Club"),
    ("deerhound", (*BODY, "neck", "thighs"), (76, 102), "R", "FCI 164"),
    ("affenpinscher", (*BODY, "shoulders"), (25,), "R", "American Kennel Club"),
    ("bouvier", BODY, (60,), "R", "FCI standard 191"),
    ("berger_picard", BODY, (51, 64), "R", "American Kennel Club"),
    ("berger_picard", ("skull",), (38,), "R", "American Kennel Club"),
    ("laekenois", BODY, (60,), "R", "FCI 15"),
    ("cesky_fousek", BODY, (30, 40), "M", "FCI standard 245"),
    ("irish", ("foreface",), (6,), "M", "1879-80"),
]

# Breeds whose standards describe the coat in words only (read or from memory).
WORDS_ONLY = [
    "miniature_schnauzer",
    "airedale",
    "welsh",
    "border",
    "cairn",
    "norwich",
    "sealyham",
    "wire_dachshund",
    "wirehaired_pointing_griffon",
    "irish_wolfhound",
    "parson_russell",
    "jack_russell",
]


def test_there_are_patterns_for_many_harsh_and_broken_coats():
    assert len(patterns()) >= 26
    names = [row.name for row in patterns().values()]
    assert names == sorted(names)
    assert len(set(names)) == len(names)
    assert {row.build for row in patterns().values()} == set(BUILDS)


@pytest.mark.parametrize(("key", "where", "numbers", "mark", "words"), PUBLISHED)
def test_published_lengths_are_kept(key, where, numbers, mark, words):
    for zone in where:
        band = pattern(key).aims[zone]
        if len(numbers) == 2:
            assert (band.lo, band.hi) == numbers
        else:
            margin = max(0.2 * numbers[0], 3)
            assert (band.lo, band.hi) == (round(numbers[0] - margin), round(numbers[0] + margin))
            assert band.note
        assert band.mark == mark
        assert words in band.source


def test_no_other_length_claims_a_published_source():
    published = {(key, zone) for key, where, *_ in PUBLISHED for zone in where}
    published |= {("giant_schnauzer", zone) for zone in BODY}  # a club's grooming advice, tested below
    claimed = {
        (key, zone) for key, row in patterns().items() for zone, band in row.aims.items() if band.mark != "P"
    }
    assert claimed == published


@pytest.mark.parametrize("key", WORDS_ONLY)
def test_where_a_standard_has_words_only_the_pattern_says_so(key):
    row = pattern(key)
    assert {band.mark for band in row.aims.values()} == {"P"}
    assert any("in words" in source.text for source in row.sources.values())


def test_the_airedale_follows_the_breed_book():
    # From a breed book, practice: body about 25 mm, shoulders 6 to 13, head, throat and front close.
    aims = pattern("airedale").aims
    assert aims["back"].middle == 25.0
    assert (aims["shoulders"].lo, aims["shoulders"].hi) == (6.0, 13.0)
    assert all(aims[zone].hi <= 6.0 for zone in ("skull", "throat", "forechest"))


def test_schnauzers_follow_the_weeks_of_the_ring():
    # Giant Schnauzer Club of America, 1988 (read): the body reaches 51 mm.
    assert pattern("giant_schnauzer").aims["back"].hi == 51.0
    assert pattern("giant_schnauzer").aims["back"].mark == "R"
    # Breed education text (read): out of the ring ten to eleven weeks, then in coat at most eight. A
    # pulled-out zone is ready from L + lo/r to L + hi/r days; L 28 d and r 0.45 mm/d are practice.
    band = pattern("miniature_schnauzer").aims["back"]
    assert 10 <= (28 + band.lo / 0.45) / 7 <= 11
    assert 7 <= (band.hi - band.lo) / 0.45 / 7 <= 8


def test_the_lakeland_is_staged_in_the_order_of_its_club():
    # United States Lakeland Terrier Club, staging (read), weeks before the show: jacket 8-10, back of
    # neck 1.5-2 weeks after it, rear and tail about 6, throat and front 4-5, head about 4. The pull that
    # puts the middle of the band on the day: L + middle/r, L 28 d and r 0.45 mm/d (practice).
    weeks = {zone: (28 + band.middle / 0.45) / 7 for zone, band in pattern("lakeland").aims.items()}
    assert 8 <= weeks["back"] <= 10.1
    assert 1.5 <= weeks["back"] - weeks["neck"] <= 2.5
    assert weeks["rear"] == pytest.approx(6, abs=1.5)
    assert weeks["tail"] == pytest.approx(6, abs=1.5)
    for zone in ("throat", "forechest", "shoulders"):
        assert weeks[zone] == pytest.approx(4.5, abs=1.6)
    for zone in ("skull", "cheeks", "ears"):
        assert weeks[zone] == pytest.approx(4, abs=1.5)


@pytest.mark.parametrize("key", sorted(patterns()))
def test_every_pattern_is_whole_and_hair_can_reach_its_bands(key):
    row = pattern(key)
    assert tuple(row.aims) == aimed_zones()
    assert set(row.end_mm) == set(zones())
    assert set(row.colours) <= set(COLOURS)
    for zone, band in row.aims.items():
        assert band.mark in MARKS
        assert band.source
        assert band.judged == zones()[zone].seen
        assert 0 <= band.lo < band.hi < row.end_mm[zone] <= 200
        assert (band.hi - band.lo) / 0.45 >= 8  # the window lasts a week at least, at 0.45 mm/d
        assert 28 + band.hi / 0.45 < 365  # and the longest hair is grown within a year
    assert {(source.mark, source.text) for source in row.sources.values()} == {
        (band.mark, band.source) for band in row.aims.values()
    }
    # Bands step gently: no neighbours on the trunk more than 45 mm apart in their middles.
    trunk = ("neck", "shoulders", "back", "ribs", "croup", "thighs", "rear")
    for zone in trunk:
        for other in set(zones()[zone].neighbours) & set(trunk):
            assert abs(row.aims[zone].middle - row.aims[other].middle) <= 45


def test_the_single_coated_breed_says_what_follows():
    single = [key for key, row in patterns().items() if not row.double_coat]
    assert single == ["spinone"]
    # Breed association (read): single-coated wires show a gap of six to eight weeks when rolled.
    assert "six to eight weeks" in pattern("spinone").practice_note


def test_no_shipped_pattern_shows_a_docked_tail():
    assert {row.tail for row in patterns().values()} <= {"up", "level"}


def test_an_unknown_pattern_is_answered_with_near_names():
    with pytest.raises(UnknownName, match="lakeland"):
        pattern("lakland")
    with pytest.raises(UnknownName):
        pattern("../zones")


def test_patterns_travel_between_processes_and_into_sets():
    row = pattern("border")
    assert pickle.loads(pickle.dumps(row)) == row
    assert {row, pattern("border"), pattern("cairn")} == {row, pattern("cairn")}
    with pytest.raises(TypeError):
        row.aims["back"] = row.aims["ribs"]


def test_every_pattern_is_loaded_without_numpy_and_only_once():
    code = "import sys, coatwright.patterns as p; assert p.patterns(); assert 'numpy' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)
    assert patterns() is patterns()
