"""The plan is bent by hand: fixed and freed takes, minutes, times away, approaches, versions."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from coatwright.salon.records import FixedVisit
from coatwright.web.changes import unready
from coatwright.web.documents import document
from coatwright.web.pages.plan.grid import grid_of
from coatwright.web.workshop import Working
from tests.web.conftest import TODAY
from tests.web.test_visits import form_of


def made(app):
    desk = app.state.desk
    return desk.plan(desk.dog("bramble"), wait=60)


def next_visit(app):
    return made(app).visits[1]


def test_the_grid_shows_every_visit_and_every_take(planned, app):
    plan = made(app)
    text = planned.get("/dogs/bramble/plan").text
    for day in plan.visits:
        assert f"visit={day}" in text
        for zone, share in plan.takes(day).items():
            cell = re.search(
                rf'<a id="c-{zone}-{day}"[^>]*><span class="hidden">[^<]*</span><span>(\d+)', text
            )
            assert cell
            assert int(cell[1]) == round(100 * share)
    assert "Fell Terrier Day" in text


def test_the_grid_counts_ready_days_between_visits_and_judges_the_show(planned, app):
    plan = made(app)
    table = grid_of(plan, document(plan), None)
    shown = plan.option.shown_until - plan.option.plan.problem.today + 1
    ready = plan.option.plan.forecast(shown).ready[0].all(axis=0)
    first = (plan.visits[0] - TODAY).days
    assert sum(column.ready for column in table.visits) == int(ready[first:].sum()) > 0
    (show,) = [column for column in table.columns if column.show]
    assert bool(show.ready) is (not unready(plan, show.day))
    assert f"{table.visits[-1].ready}<span" in planned.get("/dogs/bramble/plan").text


def test_a_cell_opens_a_form_and_is_fixed_and_freed(planned, app, store):
    day = next_visit(app)
    text = planned.get(f"/dogs/bramble/plan?cell=back.{day}").text
    form = form_of(text, "/dogs/bramble/plan/cells")
    assert (form["zone"], form["day"]) == ("back", day.isoformat())
    answer = planned.post("/dogs/bramble/plan/cells", data=form | {"share": "45", "act": "fix"})
    assert answer.status_code == 303
    assert store.state().dogs["bramble"].fixed == {("back", day): 0.45}
    assert made(app).takes(day)["back"] == pytest.approx(0.45)
    text = planned.get(answer.headers["location"].partition("#")[0]).text
    assert re.search(rf'<td class="t45 fixed"><a id="c-back-{day}"', text)
    assert "What the last change does" in text
    assert "Let the plan choose" in text
    freed = planned.post("/dogs/bramble/plan/cells", data={"zone": "back", "day": str(day), "act": "free"})
    assert freed.status_code == 303
    assert store.state().dogs["bramble"].fixed == {}


@pytest.mark.parametrize(
    "change",
    [
        {"share": "42"},
        {"share": "140"},
        {"share": ""},
        {"share": "x"},
        {"zone": "wing"},
        {"day": "2026-11-24"},
        {"day": "2031-01-01"},
        {"day": "soon"},
        {"act": "free"},
        {"act": "burn"},
    ],
)
def test_a_take_that_cannot_be_fixed_is_told_and_nothing_is_saved(planned, app, store, change):
    form = {"zone": "back", "day": next_visit(app).isoformat(), "share": "20", "act": "fix"} | change
    before = len(store.events())
    answer = planned.post("/dogs/bramble/plan/cells", data=form)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert len(store.events()) == before


def test_a_tender_zone_says_its_cap(planned, app):
    text = planned.get(f"/dogs/bramble/plan?cell=throat.{next_visit(app)}").text
    assert "Tender: at most" in text


def set_visit(planned, **form):
    return planned.post("/dogs/bramble/plan/visits", data={key: str(value) for key, value in form.items()})


def test_minutes_of_a_visit_are_set_seen_and_left_to_the_plan_again(planned, app, store):
    plan = made(app)
    day = max(plan.visits[:5], key=plan.minutes)
    less = int(plan.minutes(day)) - 10
    assert set_visit(planned, day=day, on=day, minutes=less).status_code == 303
    assert store.state().dogs["bramble"].fixed_visits == (FixedVisit(day, minutes=float(less)),)
    assert made(app).minutes(day) <= less + 0.5
    text = planned.get(f"/dogs/bramble/plan?visit={day}").text
    assert '<span class="pin">own</span>' in text
    assert "Leave it to the plan" in text
    assert set_visit(planned, day=day, act="free").status_code == 303
    assert store.state().dogs["bramble"].fixed_visits == ()


def test_a_visit_is_moved_and_moved_on_and_its_takes_go_along(planned, app, store):
    day = next_visit(app)
    planned.post("/dogs/bramble/plan/cells", data={"zone": "back", "day": str(day), "share": "15"})
    one, two = day + timedelta(days=2), day + timedelta(days=3)
    assert set_visit(planned, day=day, on=one).status_code == 303
    answer = set_visit(planned, day=one, on=two)
    assert answer.status_code == 303
    assert store.state().dogs["bramble"].fixed_visits == (FixedVisit(day, on=two),)
    assert made(app).takes(two)["back"] == pytest.approx(0.15)
    assert day not in made(app).visits
    text = planned.get(answer.headers["location"].partition("#")[0]).text
    assert '<span class="pin">moved</span>' in text
    assert re.search(rf'<td class="t15 fixed"><a id="c-back-{two}"', text)
    planned.post("/dogs/bramble/plan/cells", data={"zone": "back", "day": str(two), "act": "free"})
    assert store.state().dogs["bramble"].fixed == {}


def test_a_visit_is_dropped_brought_back_and_one_is_added(planned, app, store):
    day = next_visit(app)
    assert set_visit(planned, day=day, act="drop").status_code == 303
    assert day not in made(app).visits
    assert "is dropped" in planned.get("/dogs/bramble/plan").text
    assert set_visit(planned, day=day, act="free").status_code == 303
    assert day in made(app).visits
    more = day + timedelta(days=4)
    assert set_visit(planned, day=more, act="add").status_code == 303
    assert f'id="v-{more}"' in planned.get("/dogs/bramble/plan").text, (
        "seen, whether or not something is pulled"
    )
    assert set_visit(planned, day=more, act="drop").status_code == 303
    assert store.state().dogs["bramble"].fixed_visits == ()


@pytest.mark.parametrize(
    "form",
    [
        {"day": ""},
        {"day": "soon"},
        {"on": "2026-11-24"},
        {"on": "2031-01-01"},
        {"minutes": "-5"},
        {"minutes": "many"},
        {"act": "burn"},
        {"act": "free"},
    ],
)
def test_a_visit_that_cannot_be_set_is_told_and_nothing_is_saved(planned, app, store, form):
    before = len(store.events())
    answer = set_visit(planned, **({"day": next_visit(app), "act": "set"} | form))
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert len(store.events()) == before


def test_the_rhythm_stays_while_something_is_set_by_hand(planned, app):
    cadence = made(app).option.cadence
    set_visit(planned, day=next_visit(app), minutes=60)
    desk = app.state.desk
    assert desk.dog("bramble").rhythm == cadence
    assert made(app).option.cadence == cadence
    assert len(made(app).cadences) == 1


def test_a_version_is_kept_compared_and_worked_from_again(planned, app, store):
    day = next_visit(app)
    planned.post("/dogs/bramble/plan/cells", data={"zone": "back", "day": str(day), "share": "5"})
    set_visit(planned, day=day, on=day + timedelta(days=2))
    assert planned.post("/dogs/bramble/plan/versions", data={"name": "Promised"}).status_code == 303
    (version,) = store.state().plans["bramble"]
    set_visit(planned, day=day + timedelta(days=2), act="free")
    planned.post("/dogs/bramble/plan/cells", data={"zone": "back", "day": str(day), "share": "45"})
    planned.post("/dogs/bramble/plan/cells", data={"zone": "ribs", "day": str(day), "share": "5"})
    made(app)
    assert "Promised" in planned.get(f"/dogs/bramble/plan/versions/{version.id}").text
    text = planned.get(f"/dogs/bramble/plan/versions?a={version.id}&b=now").text
    assert '<span class="hidden">, in Promised</span> <s>' in text
    assert planned.get("/dogs/bramble/plan/versions?a=nothing&b=now").status_code == 404
    assert planned.post(f"/dogs/bramble/plan/versions/{version.id}/again").status_code == 303
    now = store.state().dogs["bramble"]
    assert now.fixed == {("back", day): 0.05}
    assert now.fixed_visits == (FixedVisit(day, on=day + timedelta(days=2)),)


def test_a_plan_that_is_still_being_made_is_waited_for_and_not_called_no_version(planned, app, monkeypatch):
    assert planned.post("/dogs/bramble/plan/versions", data={"name": "Promised"}).status_code == 303
    monkeypatch.setattr(app.state.desk.planner, "plan", lambda *_, **__: Working("rolling", 1, 5))
    answer = planned.get("/dogs/bramble/plan/versions?b=now")
    assert answer.status_code == 200
    assert "is being made: rolling" in answer.text
    assert 'hx-get="/dogs/bramble/plan/versions?b=now"' in answer.text
    assert planned.get("/dogs/bramble/plan/versions?a=nothing&b=now").status_code == 404
    assert "is being made" in planned.get("/dogs/bramble/plan/versions").text


def test_a_name_is_given_to_one_version_only(planned, store):
    form = {"name": "Promised"}
    assert planned.post("/dogs/bramble/plan/versions", data=form).status_code == 303
    again = planned.post("/dogs/bramble/plan/versions", data=form)
    assert again.status_code == 422
    assert "already" in again.text
    assert len(store.state().plans["bramble"]) == 1
    assert planned.post("/dogs/bramble/plan/versions", data={"name": " "}).status_code == 422


def test_no_version_is_no_error(planned):
    text = planned.get("/dogs/bramble/plan/versions").text
    assert "Plan of today" in text


def test_one_click_makes_what_helps(planned, app, store):
    planned.post("/dogs/bramble/plan/limits", data={"limit": "25"})
    made(app)
    text = planned.get("/dogs/bramble/plan").text
    assert form_of(text, "/dogs/bramble/plan/remedies")["kind"] in {"minutes", "cadence", "look", "longer"}
    offered = {remedy.kind: remedy for answer in made(app).answers for remedy in answer.remedies}
    for kind, remedy in offered.items():
        if kind in ("show", "rest", "free"):
            continue
        state = made(app)
        if (kind, remedy.zone) not in {(r.kind, r.zone) for a in state.answers for r in a.remedies}:
            continue
        before = store.state().dogs["bramble"]
        form = {"kind": kind, "zone": remedy.zone}
        assert planned.post("/dogs/bramble/plan/remedies", data=form).status_code == 303
        assert store.state().dogs["bramble"] != before
    assert planned.post("/dogs/bramble/plan/remedies", data={"kind": "shave"}).status_code == 422


def test_a_time_away_is_gone_round_and_can_be_taken_back(planned, app, store):
    day = next_visit(app)
    span = {"first": str(day - timedelta(days=3)), "last": str(day + timedelta(days=3))}
    assert planned.post("/dogs/bramble/plan/away", data=span).status_code == 303
    assert all(not day - timedelta(days=3) <= visit <= day + timedelta(days=3) for visit in made(app).visits)
    text = planned.get("/dogs/bramble/plan").text
    assert "Not away" in text
    fixed = planned.post("/dogs/bramble/plan/cells", data={"zone": "back", "day": str(day), "share": "20"})
    assert fixed.status_code == 422
    assert "is away" in fixed.text
    assert planned.post("/dogs/bramble/plan/away", data=span | {"act": "remove"}).status_code == 303
    assert store.state().dogs["bramble"].limits.away == ()


@pytest.mark.parametrize(
    "span",
    [
        {"first": "", "last": ""},
        {"first": "2026-12-10", "last": "2026-12-01"},
        {"first": "2025-12-01", "last": "2025-12-10"},
        {"first": "2026-13-01"},
    ],
)
def test_a_time_away_that_cannot_be_is_told(planned, store, span):
    before = len(store.events())
    assert planned.post("/dogs/bramble/plan/away", data=span).status_code == 422
    assert len(store.events()) == before


def test_the_limit_of_every_visit_and_the_approach_are_changed(planned, app, store):
    assert (
        planned.post("/dogs/bramble/plan/limits", data={"limit": "90", "approach": "staged"}).status_code
        == 303
    )
    kept = store.state().dogs["bramble"]
    assert (kept.limits.minutes, kept.wish.approach) == (90.0, "staged")
    assert made(app).option.approach == "staged"
    for bad in ({"limit": "0"}, {"limit": "1e9"}, {"approach": "shave"}):
        assert planned.post("/dogs/bramble/plan/limits", data=bad).status_code == 422


def test_approaches_stand_side_by_side_and_one_is_chosen(planned, store, app):
    desk = app.state.desk
    options = desk.compare(desk.dog("bramble"), wait=60)
    text = planned.get("/dogs/bramble/plan/compare").text
    for option in options:
        assert f'name="approach" value="{option.approach}"' in text
    assert {"rolling", "staged", "strip"} <= {option.approach for option in options}
    assert planned.post("/dogs/bramble/plan/limits", data={"approach": "strip"}).status_code == 303
    assert store.state().dogs["bramble"].wish.approach == "strip"
    assert store.state().dogs["bramble"].limits.minutes == 150.0


def test_an_impossible_wish_is_answered_with_what_helps(planned, app, store):
    assert planned.post("/dogs/bramble/plan/limits", data={"limit": "25"}).status_code == 303
    plan = made(app)
    assert plan.answers
    text = planned.get("/dogs/bramble/plan").text
    assert "What cannot be had" in text
    assert "What helps" in text
    for remedy in plan.answers[0].remedies:
        if remedy.kind not in ("show", "ready_from"):
            assert remedy.sentence()[1:] in text
    assert "Not all that is wished can be had" in planned.get("/dogs/bramble").text


def test_a_plan_that_cannot_be_made_says_why_and_how_to_get_back(planned, store, app):
    spans = {"first": TODAY.isoformat(), "last": (TODAY + timedelta(weeks=60)).isoformat()}
    assert planned.post("/dogs/bramble/plan/away", data=spans).status_code == 303
    made(app)
    text = planned.get("/dogs/bramble/plan").text
    assert "No plan" in text
    assert "Not away" in text
    assert planned.get("/dogs/bramble").status_code == 200
    assert planned.get("/").status_code == 200
