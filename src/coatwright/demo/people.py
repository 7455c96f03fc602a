"""The invented people and shows of the demo salon."""

from __future__ import annotations

from datetime import date, timedelta

from coatwright.salon.records import Person, Show

PEOPLE = {
    person.id: person
    for person in (
        Person(
            "marl", "Tobias Marlhope", "owner", "01632 960101", "tobias@example.org", "Parks behind the mill."
        ),
        Person("quenby", "Isolde Quenby", "owner", "01632 960102", "isolde@example.org"),
        Person(
            "harrowden", "Dilys Harrowden", "owner", "01632 960103", "dilys@example.org", "Mornings only."
        ),
        Person("pargeter", "Linus Pargetty", "owner", "01632 960104", "linus@example.org"),
        Person(
            "sallow", "Greta Sallowby", "owner", "01632 960105", "greta@example.org", "Shoots from October."
        ),
        Person("tarn", "Emrys Tarnwick", "owner", "01632 960106", "emrys@example.org"),
        Person("osier", "Wanda Osierley", "owner", "01632 960107", "wanda@example.org", "Two dogs, one car."),
        Person("fallow", "Cosmo Fallowfen", "owner", "01632 960108", "cosmo@example.org"),
        Person("brack", "Nerys Brackenholt", "handler", "01632 960121", "nerys@example.org"),
        Person("dunmow", "Jory Dunsedge", "handler", "01632 960122", "jory@example.org"),
        Person("ivo", "Ivo Teaselby", "groomer"),
        Person("maren", "Maren Sedgemoor-Pike", "groomer"),
    )
}
"""Everybody by id. The telephone numbers are ones that are kept free for fiction."""

GROOMERS = ("Ivo Teaselby", "Maren Sedgemoor-Pike")


def shows(today: date) -> dict[str, Show]:
    """The shows of the coming months, all on Saturdays, by id."""
    planned = (
        ("marshgate", "Marshgate Winter Open", "Marshgate Halls", 8, 24, "rolling"),
        ("fellside", "Fellside Terrier Day", "Upper Fellside", 14, 30, "staged"),
        ("quarrymoor", "Quarrymoor Championship", "Quarrymoor Showground", 17, 38, "rolling"),
        ("linnet", "Linnet Vale Gundog Show", "Linnet Vale", 22, 28, "rolling"),
    )
    found = {}
    for id, name, place, weeks, closing, aim in planned:
        day = _saturday(today + timedelta(weeks=weeks))
        found[id] = Show(id, name, day, place, max(day - timedelta(days=closing), today), aim)
    return found


def _saturday(day: date) -> date:
    return day + timedelta(days=(5 - day.weekday()) % 7)
