"""The shapes of the JSON that comes in and goes out, as they stand in the OpenAPI description."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field


class Problem(BaseModel):
    """Every error: its kind, what is wrong, where, and what to do about it."""

    error: str
    what: str
    where: str
    remedy: str


class EventIn(BaseModel):
    """One thing that happened, as the device that noticed it says so."""

    model_config = ConfigDict(extra="forbid")

    id: str = Field(min_length=1, max_length=200, description="Made by the device; the same id counts once.")
    stream: str = Field(max_length=250, description="dog:ID, person:ID or show:ID.")
    kind: str = Field(max_length=40, description="Such as visit.logged; the data follow it.")
    at: str = Field(max_length=60, description="Time on the device, ISO 8601 with its zone.")
    by: str = Field(default="", max_length=200)
    data: dict[str, Any] = Field(default_factory=dict)
    version: int = Field(default=1, ge=1, le=1_000_000)


class EventsIn(BaseModel):
    """Events to be kept, each on its own merits: one that is malformed is refused and stops no other."""

    model_config = ConfigDict(extra="forbid")

    events: list[Any] = Field(
        min_length=1,
        max_length=1000,
        description="Each an object with id (made by the device; the same id counts once), stream (dog:ID, "
        "person:ID or show:ID), kind, at (time on the device, ISO 8601 with its zone), data, and as it may be "
        "by and version.",
    )


class AnswerOut(BaseModel):
    """What became of one event; ``note`` tells of another device that spoke of the same zone."""

    id: str
    outcome: Literal["kept", "already", "refused"]
    why: str = ""
    note: str = ""


class AnswersOut(BaseModel):
    """An answer to each event, in their order."""

    answers: list[AnswerOut]


class PhotoOut(BaseModel):
    """What became of a photo."""

    photo: str
    outcome: Literal["kept", "already"]


class EventOut(BaseModel):
    """An event as it is kept, with its number."""

    number: int
    id: str
    stream: str
    kind: str
    at: str
    by: str
    data: dict[str, Any]
    version: int
    received: str | None = None


class EventsOut(BaseModel):
    """Events in the order in which they were kept; ``last`` is the number to ask from next."""

    events: list[EventOut]
    last: int


class DogLine(BaseModel):
    """A dog in a list. ``plan`` says whether a plan is there, being made, refused, or not to be had."""

    id: str
    name: str
    pattern: str
    owner: str | None
    unfit: str
    plan: Literal["ready", "working", "refused", "none"]
    next_visit: str | None
    minutes: float | None


class DogsOut(BaseModel):
    """All dogs."""

    today: str
    dogs: list[DogLine]


class DogOut(BaseModel):
    """All that is kept of a dog."""

    facts: dict[str, Any]
    assessments: list[dict[str, Any]]
    visits: list[dict[str, Any]]
    readings: list[dict[str, Any]]
    papers: list[dict[str, Any]]
    fixed: list[dict[str, Any]]
    unfit: str


class ZoneOut(BaseModel):
    """One zone on a day: shares 0 to 1, lengths in mm. ``ready`` is null where the zone is not judged."""

    key: str
    name: str
    cover: float
    outline_mm: float
    aim_mm: tuple[float, float] | None
    ready: bool | None
    misses: list[str]
    last_pull: str | None


class CoatOut(BaseModel):
    """A dog's coat on the evening of a day."""

    dog: str
    day: str
    zones: list[ZoneOut]


class PeopleOut(BaseModel):
    """Everybody."""

    people: list[dict[str, Any]]


class ShowsOut(BaseModel):
    """All shows, in order of their days."""

    shows: list[dict[str, Any]]


class WorkingOut(BaseModel):
    """A plan that is still being made: ask again in a moment."""

    working: str
    done: int
    of: int
