"""Where a dog comes from: a file, or the salon's records."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from coatwright.errors import CoatwrightError, InputError, OutOfRange, StoreError, UnknownName

if TYPE_CHECKING:
    from coatwright.salon.chances import Alarm
    from coatwright.salon.fold import Salon
    from coatwright.salon.learnt import Learnt, Shelf
    from coatwright.salon.records import Dog
    from coatwright.salon.store import Store
    from coatwright.units import Minutes


@dataclass(frozen=True, slots=True)
class Found:
    """A dog, the day to plan from, the file that it was read from (None: the salon), and the salon's dogs."""

    dog: Dog
    today: date
    file: Path | None
    salon: tuple[Dog, ...] = ()
    shelf: Shelf | None = None

    @property
    def speed(self) -> dict[str, Minutes]:
        """What whole zones of the dog take its groomer, learnt from the visits of its file or of the salon."""
        from coatwright.salon.speeds import minutes_for

        return minutes_for(self.dog, self.today, self.salon)

    @property
    def learnt(self) -> Learnt | None:
        """What is known of the dog; None where nothing was measured and no chance of a show is to be told.

        Other dogs of the salon help.
        """
        from coatwright.salon.known import learn_where_asked

        return learn_where_asked(self.dog, self.today, others=self.salon, shelf=self.shelf)

    def alarms(self, learnt: Learnt | None) -> tuple[Alarm, ...]:
        """What the last readings say that the coat should not have done."""
        from coatwright.salon.chances import last_alarms
        from coatwright.salon.learnt import SHELF

        return () if learnt is None else last_alarms(learnt, others=self.salon, shelf=self.shelf or SHELF)


def calendar_day() -> date:
    """The calendar's day where this program runs."""
    return date.today()  # noqa: DTZ011 - the user's own day is meant


def find_dog(name: str, *, today: date | None = None, data: Path | None = None) -> Found:
    """The dog in a file, or of the salon by its id or name.

    ``today`` takes the place of the calendar's day, and of the file's own ``today``. A name that ends in
    ``.toml``, has a folder in it or is a file's is read as a file.
    """
    file = Path(name)
    if is_file_name(name):
        from coatwright.salon.dogfile import read_dogfile

        read = read_dogfile(file, today=calendar_day(), plan_from=today)
        return Found(read.dog, read.today, file)
    with open_salon(data, create=False, seeking=name) as store:
        from coatwright.salon.learnt import shelf_of

        salon = store.state()
        dogs = tuple(salon.dogs.values())
        return Found(dog_named(salon, name), today or calendar_day(), None, dogs, shelf_of(store))


def is_file_name(name: str) -> bool:
    """Whether a DOG on the command line means a file."""
    return name.endswith(".toml") or "/" in name or "\\" in name or Path(name).is_file()


def dog_named(salon: Salon, name: str) -> Dog:
    """A dog of the salon by its id, or by its name when no other dog has it."""
    if name in salon.dogs:
        return salon.dogs[name]
    wanted = name.casefold()
    namesakes = [dog for dog in salon.dogs.values() if dog.name.casefold() == wanted]
    if len(namesakes) == 1:
        return namesakes[0]
    if namesakes:
        raise UnknownName(
            f"{len(namesakes)} dogs are called {name}.",
            remedy=f"Give the id: {', '.join(dog.id for dog in namesakes)}.",
        )
    if not salon.dogs:
        raise UnknownName(
            f"There is no dog called {name!r}: the salon has none yet.",
            remedy="Give a dog's TOML file, or fill the salon with the demo's dogs: `coatwright salon fill`.",
        )
    raise UnknownName.of("dog", name, {*salon.dogs, *(dog.name for dog in salon.dogs.values())})


@contextmanager
def open_salon(data: Path | None, *, create: bool, seeking: str = "") -> Iterator[Store]:
    """The salon's records in a folder (default: the usual place); ``create`` makes them where there are none."""
    from coatwright.salon.engines import address, shown
    from coatwright.salon.store import Store

    place = salon_file(data)
    url = address(place)
    if url.get_backend_name() == "sqlite" and not create and not Path(str(url.database)).exists():
        if seeking:
            raise UnknownName(
                f"There is no dog called {seeking!r}: it is no file, and there is no salon.",
                where=shown(url),
                remedy="Give a dog's TOML file, or fill a salon with the demo's dogs: `coatwright salon fill`.",
            )
        raise StoreError(
            "There is no salon here.",
            where=shown(url),
            remedy="Fill one with the demo's dogs: `coatwright salon fill`, or name its folder with --data.",
        )
    with Store.open(place) as store:
        yield store


def salon_file(data: Path | None) -> Path | None:
    """The file of the records in the folder given with ``--data``, there or not yet; None is the usual place."""
    from coatwright.salon.engines import FILE_NAME

    if data is None or data.expanduser().is_file():
        return data
    return data.expanduser() / FILE_NAME


@contextmanager
def naming(found: Found) -> Iterator[None]:
    """Let an error that does not say where it happened name the dog or its file."""
    try:
        yield
    except CoatwrightError as error:
        if error.where:
            raise
        raise error.at(str(found.file or found.dog.name)) from error


def zone_key(name: str) -> str:
    """The key of a zone from its key or name: ``inner_thighs``, ``inner thighs`` or ``Inside of the thighs``."""
    from coatwright.patterns import zone, zones

    plain = name.strip().lower()
    by_name = {each.name.lower(): key for key, each in zones().items()}
    return zone(by_name.get(plain, plain.replace(" ", "_").replace("-", "_")), where="--zone").key


def days_until(first: date, days: int | None, until: date | None) -> int | None:
    """How many days, from either way of saying it."""
    if until is None:
        return days
    if days is not None:
        raise InputError("Both --days and --until are given.", where="--until", remedy="Give one of them.")
    if until < first:
        raise OutOfRange(
            f"The last day, {until}, lies before the first, {first}.",
            where="--until",
            remedy="Give a later day.",
        )
    return (until - first).days + 1
