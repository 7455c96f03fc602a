"""What a dog's record may say of the past and the future, seen from today."""

from __future__ import annotations

from datetime import date

from coatwright.errors import OutOfOrder, OutOfRange
from coatwright.salon.records import HISTORY, Dog


def check_days(dog: Dog, today: date) -> None:
    """Nothing has been done after ``today``, and no wished show lies before it."""
    if dog.born is not None and dog.born > today:
        raise OutOfRange(
            f"{dog.name} is born on {dog.born}, after today, {today}.",
            where="born",
            remedy="Correct the birth date.",
        )
    for key, kind in HISTORY.items():
        for position, record in enumerate(getattr(dog, key), start=1):
            if record.day > today:
                raise OutOfOrder(
                    f"The {kind} is of {record.day}, after today, {today}.",
                    where=f"{key}, {position}, day",
                    remedy="Keep what has been done, on the day it was done; what is to come is the plan's.",
                )
    check_one_a_day(dog)
    for position, show in enumerate(dog.wish.shows, start=1):
        if show.day < today:
            raise OutOfOrder(
                f"The show {show.name} was on {show.day}, before today, {today}.",
                where=f"shows, {position}, day",
                remedy="Leave past shows out of the wish, or correct the date.",
            )


def check_one_a_day(dog: Dog) -> None:
    """At most one visit and one assessment of a day: a second one is nearly always the first one again."""
    for key, kind in (("assessments", "assessment"), ("visits", "visit")):
        records = getattr(dog, key)
        for position in range(1, len(records)):
            if records[position].day == records[position - 1].day:
                raise OutOfOrder(
                    f"There is a second {kind} on {records[position].day}.",
                    where=f"{key}, {position + 1}, day",
                    remedy=f"Correct the {kind} of that day instead, with all that was done.",
                )
