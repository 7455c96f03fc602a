"""A zone's layers, compiled: how they begin, fall out, are pulled and stand, in one draw or in eight at once.

The rules are those of :mod:`coatwright.coat.layers`.

Layers stand oldest first, of equal age the least cut first, in arrays of born day, share and mm removed (of the
shapes that :func:`coatwright.learning.lanes.row` knows); those before ``head`` hold no hair any more in any draw.
Hairs that broke at one pull are one layer of their mean age here.
"""

from __future__ import annotations

import math
from typing import Any

from coatwright.coat.layers import STUB_MM
from coatwright.learning.lanes import any_of, ceil, compiled, exp, least, log, most, put, row, where
from coatwright.learning.priors import ALL, START_SD

LEAST = 1e-9
"""Layers with less than this share of the hairs are gone."""
SAME_DAY = 1e-6
"""Layers born within this (d) are of one age: a mean of equal days may miss them by its last digits."""


@compiled
def grown(age: Any, lag: Any, rate: Any, end: Any) -> Any:
    """Length of uncut hair (mm)."""
    return most(least(rate * (age - lag), end), 0.0)


@compiled
def after(born: Any, removed: Any, other_born: Any, other_removed: Any) -> Any:
    """Whether a layer stands after another."""
    gap = born - other_born
    return (gap > SAME_DAY) | ((gap >= -SAME_DAY) & (removed > other_removed))


@compiled
def _swap(array: Any, place: int, wrong: Any) -> None:
    """Two neighbours change places where their order is wrong."""
    one, other = row(array, place - 1), row(array, place)
    put(array, place - 1, where(wrong, other, one))
    put(array, place, where(wrong, one, other))


@compiled
def sort_in(place: int, first: int, born: Any, share: Any, removed: Any, slot: Any) -> None:
    """Move the layer at ``place`` down to where it belongs among those before it, from ``first`` on in order."""
    for k in range(place, first, -1):
        wrong = after(row(born, k - 1), row(removed, k - 1), row(born, k), row(removed, k))
        if not any_of(wrong):
            break
        _swap(born, k, wrong)
        _swap(share, k, wrong)
        _swap(removed, k, wrong)
        _swap(slot, k, wrong)


@compiled
def begin(
    starts: Any, first: int, count: int, day: float, lag: Any, rate: Any, end: Any, own: Any, latent: int,
    born: Any, share: Any, removed: Any, slot: Any,
) -> int:  # fmt: skip
    """Layers of an assessment; returns the place in ``own`` after their misreadings, which begin at ``latent``."""
    total = 0.0 * lag
    for k in range(count):
        told, value, cut_to, cut_ago = (
            starts[first + k, 0], starts[first + k, 1], starts[first + k, 3], starts[first + k, 4],
        )  # fmt: skip
        age = 0.0 * lag + value
        if told == 1.0:
            age = lag + least(value, end) / rate
        elif told == 2.0:
            age = ceil(lag + end / rate) + cut_ago
        part = 0.0 * lag + starts[first + k, 2]
        if starts[first + k, 5] > 0.0:
            part = part * exp(START_SD * row(own, latent))
            latent += 1
        off = 0.0 * lag
        if cut_to >= 0.0:
            off = most(grown(most(age - cut_ago, 0.0), lag, rate, end) - cut_to, 0.0)
        total = total + part
        put(born, k, day - age)
        put(share, k, part)
        put(removed, k, off)
        put(slot, k, starts[first + k, 6])
        sort_in(k, 0, born, share, removed, slot)
    for k in range(count):
        put(share, k, row(share, k) / total)
    return latent


@compiled
def shed(
    day: float, since: float, blown: Any, loss: float, born: Any, share: Any, head: int, count: int
) -> Any:
    """Let blown hair fall out between two days; returns the share lost."""
    lost = 0.0 * blown
    kept = math.log(1.0 - loss)
    for k in range(head, count):
        days = most(day - most(row(born, k) + blown, since), 0.0)
        gone = row(share, k) * (1.0 - exp(days * kept))
        put(share, k, row(share, k) - gone)
        lost = lost + gone
    return lost


@compiled
def out(day: float, lag: Any, born: Any) -> Any:
    """Whether a layer has come through the skin."""
    return day - born >= lag - 1e-9


@compiled
def under(day: float, lag: Any, born: Any, head: int, count: int) -> int:
    """Where the layers that are under the skin in every draw begin; layers stand oldest first."""
    shown = count
    while shown > head and not any_of(out(day, lag, row(born, shown - 1))):
        shown -= 1
    return shown


@compiled
def pull(
    day: float, judged: float, strength: Any, selectivity: float, broken: float, lag: Any, rate: Any, end: Any,
    new_slot: int, born: Any, share: Any, removed: Any, slot: Any, head: int, count: int, part: Any,
) -> tuple[int, int, int, Any]:  # fmt: skip
    """Pull what is ``judged``, oldest first, with ln ``strength`` of the hand; ``part`` tells what each layer gave.

    Returns the first layer that holds hair, how many layers there are, how many stood, and the take.
    """
    shown = under(day, lag, born, head, count)
    standing = 0.0 * lag
    for k in range(head, shown):
        put(part, k, where(out(day, lag, row(born, k)), row(share, k), 0.0))
        standing = standing + row(part, k)
    some = judged < ALL * standing
    rest = 1.0 - where(some, judged / most(standing, LEAST), 0.0)
    take = standing * where(some, 1.0 - exp(log(rest) * exp(strength)), 1.0)
    left = selectivity * take
    blind = where(standing - left > LEAST, (take - left) / most(standing - left, LEAST), 0.0)
    mean_born, stub_age = 0.0 * lag, 0.0 * lag
    first = head
    for k in range(head, shown):
        stood = row(part, k)
        given = least(stood, left)
        left = left - given
        if selectivity < 1.0:
            given = given + (stood - given) * blind
        if broken > 0.0:
            mean_born = mean_born + given * row(born, k)
            stub_age = stub_age + given * grown(day - row(born, k), lag, rate, end)
        kept = row(share, k) - given
        kept = where(kept > LEAST, kept, 0.0)
        put(part, k, given)
        put(share, k, kept)
        if k == first and not any_of(kept > 0.0):
            first = k + 1
    if broken > 0.0:
        some = take > LEAST
        whole = most(take, LEAST)
        put(born, count, where(some, mean_born / whole, day))
        put(share, count, where(some, take * broken, 0.0))
        put(removed, count, where(some, most(stub_age / whole - STUB_MM, 0.0), 0.0))
        put(slot, count, new_slot + 1.0)
        sort_in(count, first, born, share, removed, slot)
        count += 1
    put(born, count, day)
    put(share, count, take * (1.0 - broken))
    put(removed, count, 0.0)
    put(slot, count, float(new_slot))
    return first, count + 1, shown, take


@compiled
def visible(
    day: float, lag: Any, rate: Any, end: Any, born: Any, share: Any, removed: Any, head: int, count: int,
    mixed: bool, mean: Any, weight: Any,
) -> tuple[int, Any]:  # fmt: skip
    """Lengths and shares of what stands above the skin, longest first; how many layers, and the cover.

    A layer that does not stand in a draw has no weight there. Unless some hair was cut or broken (``mixed``) the
    oldest hair is the longest.
    """
    shown = under(day, lag, born, head, count)
    cover = 0.0 * lag
    for k in range(head, shown):
        age = day - row(born, k)
        stands = where(age >= lag - 1e-9, row(share, k), 0.0)
        stands = where(stands > LEAST, stands, 0.0)
        put(mean, k - head, most(grown(age, lag, rate, end) - row(removed, k), 0.0))
        put(weight, k - head, stands)
        cover = cover + stands
        if mixed:
            for place in range(k - head, 0, -1):
                wrong = row(mean, place - 1) < row(mean, place)
                if not any_of(wrong):
                    break
                _swap(mean, place, wrong)
                _swap(weight, place, wrong)
    return shown - head, cover
