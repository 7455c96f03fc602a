"""Two tablets that spoke of one zone of a dog's day: what the one that sends is told of the other."""

from __future__ import annotations

from typing import Any

from coatwright.errors import InputError
from coatwright.salon.events import Event, payload
from coatwright.salon.fold import Fold
from coatwright.salon.history import Visit
from coatwright.salon.taps import TakeLogged, ZoneCarded


def note_of(event: Event, fold: Fold) -> str:
    """What to tell the sender of a tap: that another device spoke of its zone, and which of the two counts.

    "" where nobody else did. The latest of the others is named, with its time where the salon is.
    """
    if event.kind not in ("take.logged", "zone.carded"):
        return ""
    try:
        mine = payload(event)
    except InputError:
        return ""
    others = [
        (other, told)
        for other, made in fold.counting(event.stream)
        if other.id != event.id and (told := _said(other, made, mine)) is not None
    ]
    if not others:
        return ""
    other, told = others[-1]
    clock, own = (each.at.astimezone().strftime("%H:%M") for each in (other, event))
    if (event.at, event.id) > (other.at, other.id):
        return f"Also logged {_who(other)} at {clock} ({told}); yours of {own} counts."
    return f"Also logged {_who(other)} at {clock} ({told}), which counts; yours of {own} is kept beside it."


def _said(other: Event, made: Any, mine: TakeLogged | ZoneCarded) -> str | None:
    """What another event says of the same zone of the same day, in words; None when it says nothing of it."""
    if made is None or getattr(made, "day", None) != mine.day:
        return None
    if isinstance(made, Visit):
        if isinstance(mine, ZoneCarded):
            return None
        take = made.takes.get(mine.zone)
        return None if take is None else f"{100 * take.share:.0f} %"
    if type(made) is not type(mine) or made.zone != mine.zone or made.device == mine.device:
        return None
    if isinstance(made, TakeLogged):
        return f"{100 * made.take.share:.0f} %"
    assert isinstance(mine, ZoneCarded)
    return None if made.carded == mine.carded else ("carded" if made.carded else "not carded")


def _who(event: Event) -> str:
    if event.kind in ("visit.logged", "visit.corrected"):
        return "at the desk"
    return f"by {event.by}'s tablet" if event.by else "on another tablet"
