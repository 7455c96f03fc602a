"""Which tools a dog is kept from, and what is said of them: on this dog, on another, and of a bare hand."""

from datetime import date, timedelta

import pytest

from coatwright.salon import tools
from coatwright.salon.cautions import tool_cautions, visit_cautions
from coatwright.salon.history import PaperCount
from coatwright.salon.plans import plan_dog
from coatwright.salon.salon import add_dog, keep_paper
from coatwright.salon.sheets import sheet_of
from tests.salon.making import TODAY, dog, old_coat
from tests.salon.test_sheets import FIRST as SHEET_DAY
from tests.salon.test_sheets import rolled, rolling_dog

DAY = TODAY - timedelta(days=10)
SOUND, BREAKING, FEW = (400, 2), (70, 30), (12, 8)


def count(hairs, day=DAY, tool="knife", zone="back", groomer=""):
    whole, broken = hairs
    return PaperCount(
        f"{tool}-{day}-{zone}-{groomer}",
        day,
        zone,
        tool,
        groomer,
        counted_whole=whole,
        counted_broken=broken,
    )


def words(found):
    return {name: (trial.key.zone, trial.verdict.word) for name, trial in found.items()}


@pytest.fixture
def two(store):
    """A store with two dogs."""
    add_dog(store, dog(assessments=(old_coat(),)), today=TODAY)
    add_dog(store, dog(id="bracken", name="Bracken"), today=TODAY)
    return store


# --- on this dog ------------------------------------------------------------------------------------------


def test_a_test_that_says_nothing_does_not_clear_a_tool_that_breaks():
    tested = dog(papers=(count(BREAKING), count(FEW, DAY + timedelta(days=1))))
    assert words(tools.kept_off(tested)) == {"knife": ("back", "breaks")}


def test_another_zone_of_the_same_day_does_not_clear_a_tool_that_breaks():
    tested = dog(papers=(count(BREAKING), count(SOUND, zone="ribs"), count(SOUND, groomer="Mira")))
    assert words(tools.kept_off(tested)) == {"knife": ("back", "breaks")}


def test_the_gravest_of_what_stands_is_named():
    early = count(BREAKING, DAY - timedelta(days=1), zone="ribs")
    tested = dog(papers=(early, count((58, 2), zone="neck")))
    assert words(tools.kept_off(tested)) == {"knife": ("ribs", "breaks")}


def test_a_newer_sound_test_of_the_same_zone_and_hand_clears_a_tool():
    later = DAY + timedelta(days=1)
    tested = dog(papers=(count(BREAKING), count(SOUND, later)))
    assert tools.kept_off(tested) == {}
    assert words(tools.kept_off(tested, until=DAY)) == {"knife": ("back", "breaks")}


def test_the_last_word_on_a_tool_is_not_of_a_test_without_one(two):
    for paper in (
        count(BREAKING),
        count(SOUND, zone="ribs"),
        count(FEW, DAY + timedelta(days=1)),
        count(FEW, tool="stone"),
    ):
        keep_paper(two, "bramble", paper, today=TODAY)
    last = tools.tool_history(two.state(), "knife").last
    assert (last.verdict.word, last.key.zone) == ("breaks", "back")
    assert tools.tool_history(two.state(), "stone").last.verdict.word == "too few hairs"


# --- a bare hand, another dog -----------------------------------------------------------------------------


def test_a_bare_hand_that_breaks_is_told_as_a_hand():
    tested = dog(papers=(count(BREAKING, tool=""),))
    (said,) = tool_cautions(tested, TODAY)
    assert (said.key, said.level, said.title) == ("tool_breaks", "caution", "A hand that breaks hair")
    assert said.text.startswith("The bare hand: about 30 of 100 hairs broke in the paper test on the back")
    assert "Use fingers" not in said.text
    (open_,) = tool_cautions(dog(papers=(count((58, 2), tool=""),)), TODAY)
    assert open_.text.startswith("The bare hand: the paper test on the back")


def test_fingers_are_not_advised_where_the_bare_hand_breaks_too():
    said = [
        each.text
        for each in tool_cautions(dog(papers=(count(BREAKING, tool=""), count(BREAKING))), TODAY)
        if each.title == "A tool that breaks hair"
    ]
    assert len(said) == 1
    assert "Use a tool that was found sound." in said[0]
    (alone,) = tool_cautions(dog(papers=(count(BREAKING),)), TODAY)
    assert "Use fingers, or a tool that was found sound." in alone.text


def test_a_tool_that_broke_hair_on_another_dog_is_a_note_until_it_was_tried_here():
    other = dog(id="bracken", name="Bracken", papers=(count(BREAKING), count(SOUND, tool="stone")))
    here = dog()
    (said,) = tool_cautions(here, TODAY, others=(here, other))
    assert (said.key, said.level) == ("tool_elsewhere", "note")
    assert said.text.startswith(
        "Knife: about 30 of 100 hairs broke on Bracken, in the paper test on the back"
    )
    assert "Try it on this coat before a rolling coat or a show dog relies on it." in said.text
    assert tool_cautions(here, TODAY, ["stone"], others=(other,)) == ()
    assert tool_cautions(here, DAY + timedelta(days=366), others=(other,)) == ()
    tried = dog(papers=(count(SOUND, tool="KNIFE"),))
    assert tool_cautions(tried, TODAY, others=(other,)) == ()
    hardly = dog(papers=(count(FEW),))
    assert [each.key for each in tool_cautions(hardly, TODAY, others=(other,))] == ["tool_elsewhere"]


def test_a_hand_that_broke_hair_on_another_dog_is_not_told_here():
    other = dog(id="bracken", name="Bracken", papers=(count(BREAKING, tool=""),))
    assert tool_cautions(dog(), TODAY, others=(other,)) == ()


def test_the_visit_sheet_of_a_rolling_coat_names_what_broke_hair_on_another_dog():
    early = old_coat(SHEET_DAY - timedelta(days=30), id="before")
    plan = plan_dog(rolling_dog(assessments=(early, rolled())), SHEET_DAY)
    other = dog(id="other", name="Bracken", papers=(count(BREAKING, SHEET_DAY - timedelta(days=5)),))
    assert "tool_elsewhere" in {each.key for each in visit_cautions(plan, SHEET_DAY, others=(other,))}
    titles = {each.title for each in sheet_of(plan, SHEET_DAY, others=(other,)).cautions}
    assert "A tool that broke hair on another dog" in titles
    assert "A tool that broke hair on another dog" not in {
        each.title for each in sheet_of(plan, SHEET_DAY).cautions
    }


def test_the_table_tells_of_a_tool_and_of_the_hand():
    from coatwright.web.table.bundle import _breaking

    here = dog(papers=(count(BREAKING, tool=""), count(BREAKING, tool="Knife")))
    other = dog(id="bracken", name="Bracken", papers=(count(BREAKING, tool="Rake"),))
    assert _breaking(here, TODAY, (other,)) == {
        "fingers": "breaks 30\u202f% of the hair",
        "knife": "breaks 30\u202f% of the hair",
        "rake": "broke hair on Bracken: try it first",
    }


def test_old_tests_do_not_speak():
    tested = dog(papers=(count(BREAKING, date(2020, 1, 1)),))
    assert tool_cautions(tested, TODAY) == ()
