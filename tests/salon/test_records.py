"""Records check themselves when they are made, and say what is wrong, where, and what to do."""

from datetime import date

import pytest

from coatwright.errors import InputError, OutOfOrder, OutOfRange, UnknownName
from coatwright.salon.records import (
    Assessment,
    DogLimits,
    DogWish,
    LayerReading,
    PaperCount,
    Person,
    Reading,
    Show,
    Take,
    Visit,
    ZoneReading,
)
from tests.salon.making import FIRST, OWNER, SHOW, dog, old_coat, visit

WRONG = {
    "a take of 140 %": (lambda: Take(1.4), OutOfRange, "140 %"),
    "a planned take below nothing": (lambda: Take(0.2, planned=-0.1), OutOfRange, "-10 %"),
    "a negative length": (lambda: LayerReading(1, length_mm=-3), OutOfRange, "-3 mm"),
    "a length that is no number": (lambda: LayerReading(1, length_mm=float("nan")), OutOfRange, "nan"),
    "no age": (lambda: LayerReading(0.5), OutOfRange, "nothing"),
    "two ages": (lambda: LayerReading(0.5, weeks=3, resting=True), OutOfRange, "weeks and resting"),
    "the length of cut hair": (lambda: LayerReading(1, length_mm=20, cut_to_mm=20), OutOfRange, "cut hair"),
    "a day of cutting without a length": (
        lambda: LayerReading(1, weeks=9, cut_on=FIRST),
        OutOfRange,
        "no length",
    ),
    "cut before it was pulled": (
        lambda: LayerReading(1, pulled=FIRST, cut_to_mm=9, cut_on=date(2026, 11, 1)),
        OutOfOrder,
        "before it was pulled",
    ),
    "no hair left": (lambda: ZoneReading(()), OutOfRange, "no hair left"),
    "layers of no hair": (lambda: ZoneReading((LayerReading(0, weeks=1),)), OutOfRange, "no hair left"),
    "layers of 80 %": (lambda: ZoneReading((LayerReading(0.8, weeks=1),)), OutOfRange, "80 %"),
    "an unknown undercoat": (
        lambda: ZoneReading((LayerReading(1, weeks=1),), "thick"),
        OutOfRange,
        "'thick'",
    ),
    "an assessment of nothing": (lambda: Assessment("a", FIRST, {}), OutOfRange, "no hair left"),
    "an unknown zone": (lambda: visit(FIRST, id="v", bakc=Take(0.2)), UnknownName, "'bakc'"),
    "hair pulled after it was read": (
        lambda: Assessment("a", FIRST, {"back": ZoneReading((LayerReading(1, pulled=date(2027, 1, 1)),))}),
        OutOfOrder,
        "after the assessment",
    ),
    "a zone carded twice": (lambda: Visit("v", FIRST, carded=("back", "back")), OutOfRange, "twice"),
    "a reading of nothing": (lambda: Reading("r", FIRST, "back"), OutOfRange, "says nothing"),
    "shortest above longest": (lambda: Reading("r", FIRST, "back", 10, 20), OutOfRange, "longer than"),
    "a reading of nothing but its moment": (
        lambda: Reading("r", FIRST, "back", at_visit="after", groomer="Maren"),
        OutOfRange,
        "says nothing",
    ),
    "a step below nothing": (lambda: Reading("r", FIRST, "back", steps_mm=(8, -2)), OutOfRange, "-2 mm"),
    "a step that is no number": (
        lambda: Reading("r", FIRST, "back", steps_mm=(float("nan"),)),
        OutOfRange,
        "nan",
    ),
    "more layers than a comb tells apart": (
        lambda: Reading("r", FIRST, "back", steps_mm=tuple(range(9))),
        OutOfRange,
        "9 layers",
    ),
    "a layer above the longest hair": (
        lambda: Reading("r", FIRST, "back", 20, steps_mm=(10, 26)),
        OutOfRange,
        "26 mm is longer",
    ),
    "a layer below the shortest hair": (
        lambda: Reading("r", FIRST, "back", None, 20, steps_mm=(10, 26)),
        OutOfRange,
        "10 mm is shorter",
    ),
    "a cover in a word of our own making": (
        lambda: Reading("r", FIRST, "back", look="bushy"),
        OutOfRange,
        "'bushy'",
    ),
    "a reading during the pulling": (
        lambda: Reading("r", FIRST, "back", 20, at_visit="during"),
        OutOfRange,
        "'during'",
    ),
    "hair that weighs nothing": (lambda: Take(0.2, grams=0.0), OutOfRange, "0 g"),
    "more hair than a dog has": (lambda: Take(0.2, grams=501), OutOfRange, "501 g"),
    "hair that came somehow": (lambda: Take(0.2, ease="somehow"), OutOfRange, "'somehow'"),
    "a paper test of no hair": (lambda: PaperCount("p", FIRST, "back"), OutOfRange, "0 hairs"),
    "a paper test of minus one hair": (
        lambda: PaperCount("p", FIRST, "back", counted_whole=40, counted_broken=-1),
        OutOfRange,
        "-1 hairs",
    ),
    "a paper test of a whole coat": (
        lambda: PaperCount("p", FIRST, "back", whole_mm=(20.0,) * 10, counted_whole=4991),
        OutOfRange,
        "5001 hairs",
    ),
    "a hair of a metre on paper": (
        lambda: PaperCount("p", FIRST, "back", broken_mm=(12.0, 1000.0)),
        OutOfRange,
        "1000 mm",
    ),
    "a paper test of no zone": (lambda: PaperCount("p", FIRST, "bakc", counted_whole=1), UnknownName, "bakc"),
    "a cover of 130 %": (lambda: Reading("r", FIRST, "back", cover=1.3), OutOfRange, "130 %"),
    "entries that close after the show": (
        lambda: Show("s", "S", FIRST, closing=date(2027, 1, 1)),
        OutOfOrder,
        "after the show",
    ),
    "a person without a name": (lambda: Person("p", " "), OutOfRange, "name"),
    "a role of our own making": (lambda: Person("p", "P", "boss"), OutOfRange, "'boss'"),
    "visits every five days": (lambda: DogLimits(cadences=(5,)), OutOfRange, "every 5 days"),
    "every weekday off": (lambda: DogLimits(days_off=tuple(range(7))), OutOfRange, "Every weekday"),
    "a weekday that is none": (lambda: DogLimits(days_off=(7,)), OutOfRange, "7"),
    "away backwards": (lambda: DogLimits(away=((date(2027, 2, 1), FIRST),)), OutOfOrder, "from 2027-02-01"),
    "no minutes": (lambda: DogLimits(minutes=0), OutOfRange, "0 min"),
    "an unknown approach": (lambda: DogWish(approach="clip"), OutOfRange, "'clip'"),
    "one show twice": (lambda: DogWish(shows=(SHOW, SHOW)), OutOfRange, "twice"),
    "a horizon of years": (lambda: DogWish(horizon_weeks=500), OutOfRange, "500"),
    "shape for a zone without aim": (lambda: dog(shape_mm={"feet": 2.0}), OutOfRange, "no aim for feet"),
    "an unknown growth value": (lambda: dog(growth={"speeed": 1.0}), UnknownName, "'speeed'"),
    "growth beyond its limits": (lambda: dog(zone_growth={"back": {"rate": 40.0}}), OutOfRange, "40"),
    "a colour that cannot be drawn": (lambda: dog(colour="blue"), OutOfRange, "'blue'"),
    "a fixed take of 120 %": (lambda: dog(fixed={("back", FIRST): 1.2}), OutOfRange, "120 %"),
    "a weight in grams": (lambda: dog(weight_kg=7200.0), OutOfRange, "7200 kg"),
    "a visit in the past of another": (
        lambda: dog(assessments=(old_coat(),), visits=(visit(date(2027, 2, 1)), visit(date(2027, 1, 1)))),
        OutOfOrder,
        "stands after",
    ),
    "a visit before the coat was read": (
        lambda: dog(assessments=(old_coat(),), visits=(visit(date(2026, 11, 1)),)),
        OutOfOrder,
        "no assessment",
    ),
    "one visit twice": (
        lambda: dog(
            assessments=(old_coat(),), visits=(visit(FIRST, id="v"), visit(date(2027, 1, 1), id="v"))
        ),
        OutOfRange,
        "twice",
    ),
    "born after its coat was read": (
        lambda: dog(born=date(2027, 1, 1), assessments=(old_coat(),)),
        OutOfOrder,
        "born",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_record_is_refused_with_what_and_remedy(case):
    make, kind, words = WRONG[case]
    with pytest.raises(kind) as caught:
        make()
    assert words in caught.value.what
    assert isinstance(caught.value, InputError)
    assert caught.value.remedy


def test_shares_read_by_eye_may_miss_the_whole_by_a_hundredth():
    thirds = ZoneReading(tuple(LayerReading(0.33, weeks=weeks) for weeks in (4, 8, 12)))
    assert len(thirds.layers) == 3


def test_the_layers_of_a_reading_are_kept_sorted_and_each_once():
    read = Reading("r", FIRST, "back", 41, 8, steps_mm=(22, 8, 40, 22), look="open", at_visit="after")
    assert read.steps_mm == (8, 22, 40)
    assert read.says == ("longest_mm", "shortest_mm", "steps_mm", "look")


def test_a_layer_may_miss_the_longest_hair_by_the_error_of_a_ruler():
    # Two readings of a ruler, each with an sd of 1.5 mm, differ by less than 5 mm in 98 % of cases.
    assert Reading("r", FIRST, "back", 40, 12, steps_mm=(7, 45)).steps_mm == (7, 45)


def test_a_paper_test_counts_what_was_measured_and_what_was_only_counted():
    paper = PaperCount("p", FIRST, "back", "fingers", "Maren", [30, 31.5], [12], 40, 2)
    assert (paper.whole, paper.broken) == (42, 3)
    assert paper.whole_mm == (30, 31.5)


def test_a_dogs_paper_tests_are_held_to_the_order_of_their_days():
    papers = [PaperCount(f"p{day.month}", day, "back", counted_whole=9) for day in (date(2027, 2, 1), FIRST)]
    with pytest.raises(OutOfOrder, match="The paper test of 2026-12-01 stands after"):
        dog(papers=papers)


def test_shows_are_kept_in_the_order_of_their_dates():
    early = Show("early", "Early", date(2027, 4, 3))
    assert DogWish(shows=(SHOW, early)).shows == (early, SHOW)


def test_a_record_cannot_be_changed_through_what_it_was_made_of():
    takes = {"back": Take(0.2)}
    made = Visit("v", FIRST, takes)
    takes["ribs"] = Take(0.9)
    assert set(made.takes) == {"back"}


def test_a_dog_on_the_table_is_held_to_three_hours_unless_told_otherwise():
    # A dog is not kept on the table for more than 3 h a day: common practice, no published source.
    assert DogLimits().minutes == 180
    assert dog(owner=OWNER).limits == DogLimits()
