"""Pictures of pages and paper: one writer, the same coat, and approaches side by side on the day of the show."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from coatwright.salon.pictures import coat_picture_on, coats_on, option_picture, take_picture
from coatwright.salon.plans import compare_approaches, plan_dog
from coatwright.units import day_of
from coatwright.web import pictures
from coatwright.web.coats import states
from tests.web.conftest import SHOW, TODAY, bramble

NAMED = re.compile(r' (?:id|aria-labelledby|aria-describedby|clip-path|color)="[^"]*"|<title.*?</title>')


@pytest.fixture(scope="module")
def plan():
    return plan_dog(bramble(), TODAY)


@pytest.fixture(scope="module")
def options():
    return compare_approaches(bramble(), TODAY)


def drawing(svg: str) -> str:
    """A picture without what only names it."""
    return NAMED.sub("", svg)


@pytest.mark.parametrize("day", [TODAY + timedelta(days=1), TODAY + timedelta(days=40), SHOW.day])
@pytest.mark.parametrize("theme", pictures.THEMES)
def test_page_and_paper_draw_the_same_coat(plan, day, theme):
    found = states(plan.dog, plan, day, TODAY)
    paper = coat_picture_on(plan, day, theme=theme)
    page = pictures.picture(
        plan.dog,
        found,
        day,
        title=f"The coat of {plan.dog.name}",
        theme=theme,
        names={key: state.zone.name for key, state in found.items()},
    )
    assert drawing(page) == drawing(paper)


def test_the_sheet_on_the_page_and_in_the_pdf_are_one_picture(reader, plan, monkeypatch):
    """The route of the page's picture and that of the PDF call the same writer with the same plan and day."""
    from coatwright.printing import pdf

    day = plan.visits[0]
    seen = {}

    def kept(sheet, *, paper, unit, picture_svg):
        seen["paper"] = picture_svg
        return b"%PDF-"

    monkeypatch.setattr(pdf, "sheet_pdf", kept)
    assert reader.get(f"/dogs/bramble/sheet.pdf?day={day}").status_code == 200
    page = reader.get(f"/dogs/bramble/sheet.svg?day={day}&theme=print").text
    assert drawing(page) == drawing(seen["paper"]) == drawing(take_picture(plan, day))


def test_zones_that_no_plan_pulls_are_drawn_too(plan):
    known = coats_on(plan.dog, plan.option.plan, SHOW.day)
    drawn = coat_picture_on(plan, SHOW.day)
    hairy = set(re.findall(r'data-hair="(\w+)"', drawn))
    assert {"back", "beard", "feet", "brows"} <= hairy
    assert "beard" not in known


def test_approaches_are_told_on_the_day_of_the_show(options):
    dog = bramble()
    found = pictures.shots(dog, options, TODAY)
    assert list(found) == [option.approach for option in options]
    for option in options:
        shot, judged = found[option.approach], option.plan.judged(day_of(SHOW.day))
        assert (shot.day, shot.show) == (SHOW.day, SHOW.name)
        assert shot.ready == sum(state.ready for state in judged.values())
        assert shot.judged == len(judged)
        assert shot.thinnest == min(state.cover for state in judged.values())
        assert ("every judged zone" in shot.spoken) == (not shot.missing)


def test_without_a_show_they_are_told_on_the_last_day_that_all_reach(options):
    from dataclasses import replace

    dog = replace(bramble(), wish=replace(bramble().wish, shows=()))
    day, show = pictures.compared_day(dog, options, TODAY)
    assert show == ""
    assert day == date.fromordinal(min(option.shown_until for option in options))
    assert pictures.shots(dog, [], TODAY) == {}


def test_each_approach_has_a_picture_of_its_own_by_day_and_by_night(reader, options):
    seen = set()
    for option in options:
        for theme in ("light", "dark"):
            answer = reader.get(f"/dogs/bramble/plan/compare/{option.approach}.svg?v=1&theme={theme}")
            assert answer.status_code == 200
            assert answer.headers["content-type"].startswith("image/svg+xml")
            assert "max-age" in answer.headers["cache-control"]
            seen.add(answer.text)
        mine = option_picture(bramble(), option, SHOW.day, theme="light")
        page = reader.get(f"/dogs/bramble/plan/compare/{option.approach}.svg?theme=light").text
        assert drawing(mine) == drawing(page)
    plans = {str(option.plan.cells()) for option in options}
    assert len(seen) == 2 * len(plans) >= 4  # what is pulled alike looks alike
    assert reader.get("/dogs/bramble/plan/compare/moon.svg").status_code == 404
    assert reader.get("/dogs/bramble/plan/compare/rolling.svg?theme=blue").status_code == 422
    assert reader.get("/dogs/wick/plan/compare/rolling.svg").status_code == 409


def test_the_page_shows_every_approach_with_its_picture_in_words(reader, options):
    page = reader.get("/dogs/bramble/plan/compare").text
    pulled = {}
    for option in options:
        until = option.plan.cells()
        same = next((name for name, cells in pulled.items() if cells == until), option.approach)
        pulled.setdefault(option.approach, until)
        assert f"/plan/compare/{same}.svg?" in page, "one that pulls like another shares its picture"
    assert len(pulled) > 1
    assert page.count("<figure>") == len(options)
    assert SHOW.name in page
    assert len(re.findall(r'alt="Bramble on [^"]+ cover\."', page)) == len(options)
