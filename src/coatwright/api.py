"""The program in a few lines of Python: read a dog, plan it, forecast its coat, print its next visit.

    import coatwright

    dog = coatwright.read("examples/bracken.toml")
    plan = coatwright.plan(dog)
    print(plan.takes(plan.visits[0]))
    ahead = coatwright.forecast(dog, plan)
    sheet = coatwright.sheet(plan)

Shares are 0 to 1, lengths mm, times minutes, days :class:`datetime.date`. Nothing here reads the clock when the
day to plan from is given, by ``today`` or by the dog's file.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from coatwright.errors import InputError
from coatwright.salon.dogfile import DogFile, read_dogfile

if TYPE_CHECKING:
    from coatwright.planning.compare import Option, Progress
    from coatwright.printing.sheet import Sheet
    from coatwright.salon.learnt import Learnt
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog
    from coatwright.salon.results import DogForecast


def read(path: str | Path, *, today: date | None = None) -> DogFile:
    """Read a dog's TOML file: the dog, and the day to plan from.

    ``today`` takes the place of the file's own; without either it is the calendar's day. Raises an
    :class:`~coatwright.errors.InputError` that names file, line, key and remedy.
    """
    return read_dogfile(path, today=_calendar_day(), plan_from=today)


def plan(
    dog: DogFile | Dog,
    today: date | None = None,
    *,
    approach: str | None = None,
    futures: int = 0,
    seed: int = 0,
    progress: Progress | None = None,
) -> DogPlan:
    """The best plan for a dog, from its coat of ``today`` and what was measured of it, at the speed of timed visits.

    ``approach`` is free, rolling, staged or strip; without it the dog's own wish decides. A wish that cannot be
    met is answered by ``answers`` of the plan, never by an error. ``futures`` above 0 holds the plan in so many ways
    in which this coat may turn out to grow, drawn with ``seed``. Raises
    :class:`~coatwright.errors.UnfitDog` for a dog that needs a vet first.
    """
    from coatwright.salon.chances import last_alarms
    from coatwright.salon.plans import plan_dog
    from coatwright.salon.speeds import minutes_for

    who, day = _who(dog, today)
    learnt = _learnt(who, day)
    return plan_dog(
        who,
        day,
        approach=approach,
        speed=minutes_for(who, day),
        learnt=learnt,
        alarms=() if learnt is None else last_alarms(learnt),
        futures=futures,
        seed=seed,
        progress=progress,
    )


def compare(
    dog: DogFile | Dog, today: date | None = None, *, progress: Progress | None = None
) -> list[Option]:
    """Rolling, staged, strip and free choice side by side, as far as the dog's wish allows them."""
    from coatwright.salon.plans import compare_approaches
    from coatwright.salon.speeds import minutes_for

    who, day = _who(dog, today)
    return compare_approaches(
        who, day, speed=minutes_for(who, day), learnt=_learnt(who, day), progress=progress
    )


def forecast(
    dog: DogFile | Dog,
    plan: DogPlan | None = None,
    *,
    today: date | None = None,
    days: int | None = None,
    draws: int = 1,
    seed: int = 0,
) -> DogForecast:
    """Cover, outline and readiness of every zone, with a plan carried out, or with nothing pulled.

    With a plan its own day counts as ``today``. ``days`` is how many days, today included; ``draws`` above 1 adds
    that many coats of the prior, from a random generator with this ``seed``.
    """
    from coatwright.salon.results import forecast_dog

    who, day = _who(dog, today)
    if plan is not None:
        if plan.dog.id != who.id:
            raise InputError(
                f"The plan is for {plan.dog.name}, not for {who.name}.",
                where="plan",
                remedy="Plan this dog, or forecast the other one.",
            )
        who, day = plan.dog, plan.today
    return forecast_dog(who, day, plan=plan, days=days, draws=draws, seed=seed)


def sheet(plan: DogPlan, day: date | None = None) -> Sheet:
    """The sheet of one planned visit, or of the next one: zones in working order, hair, hold, minutes, cautions.

    Raises :class:`~coatwright.errors.OutOfRange` when nothing is to be pulled on that day.
    """
    from coatwright.salon.sheets import sheet_of

    return sheet_of(plan, day)


def _learnt(dog: Dog, day: date) -> Learnt | None:
    """What the dog's own measurements say of it; None where there are none and no show is to come."""
    from coatwright.salon.known import learn_where_asked

    return learn_where_asked(dog, day)


def _who(dog: DogFile | Dog, today: date | None) -> tuple[Dog, date]:
    """The dog, and the day: as given, else the file's, else the calendar's."""
    if isinstance(dog, DogFile):
        return dog.dog, today or dog.today
    return dog, today or _calendar_day()


def _calendar_day() -> date:
    return date.today()  # noqa: DTZ011 - the user's own day is meant
