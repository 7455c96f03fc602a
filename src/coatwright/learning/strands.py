"""A zone's layers in one draw, compiled: how they begin, fall out, are pulled and stand.

The rules are those of :mod:`coatwright.coat.layers`.

Layers stand oldest first, of equal age the least cut first, in arrays of born day, share and mm removed; those
before ``head`` hold no hair any more. Hairs that broke at one pull are one layer of their mean age here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar

from coatwright.coat.layers import STUB_MM
from coatwright.compiling import numba
from coatwright.learning.priors import ALL, START_SD

_F = TypeVar("_F", bound=Callable[..., Any])
compiled: Callable[[_F], _F] = numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
inlined: Callable[[_F], _F] = numba.njit(
    cache=True, nogil=True, inline="always", error_model="numpy", fastmath=True
)

LEAST = 1e-9
"""Layers with less than this share of the hairs are gone."""
SAME_DAY = 1e-6
"""Layers born within this (d) are of one age: a mean of equal days may miss them by its last digits."""


@inlined
def grown(age: float, lag: float, rate: float, end: float) -> float:
    return max(min(rate * (age - lag), end), 0.0)


@inlined
def after(born: float, removed: float, other_born: float, other_removed: float) -> bool:
    """Whether a layer stands after another."""
    gap = born - other_born
    return gap > SAME_DAY or (gap >= -SAME_DAY and removed > other_removed)


@compiled
def begin(
    starts: Any, first: int, count: int, day: float, lag: float, rate: float, end: float, latent: Any, d: int,
    born: Any, share: Any, removed: Any, slot: Any,
) -> int:  # fmt: skip
    """Layers of an assessment."""
    total = 0.0
    full = math.ceil(lag + end / rate)
    for k in range(count):
        n = first + k
        told, value, part, cut_to, cut_ago = (
            starts[n, 0], starts[n, 1], starts[n, 2], starts[n, 3], starts[n, 4],
        )  # fmt: skip
        if told == 0.0:
            age = value
        elif told == 1.0:
            age = lag + min(value, end) / rate
        else:
            age = cut_ago + full
        if starts[n, 5] >= 0.0:
            part *= math.exp(START_SD * latent[d, int(starts[n, 5])])
        off = 0.0
        if cut_to >= 0.0:
            off = max(grown(max(age - cut_ago, 0.0), lag, rate, end) - cut_to, 0.0)
        total += part
        place = k
        while place > 0 and after(born[place - 1], removed[place - 1], day - age, off):
            born[place], share[place] = born[place - 1], share[place - 1]
            removed[place], slot[place] = removed[place - 1], slot[place - 1]
            place -= 1
        born[place], share[place], removed[place], slot[place] = day - age, part, off, int(starts[n, 6])
    for k in range(count):
        share[k] /= total
    return count


@compiled
def shed(
    day: float, since: float, blown: float, loss: float, born: Any, share: Any, head: int, count: int
) -> float:  # fmt: skip
    """Let blown hair fall out between two days; returns the share lost."""
    lost = 0.0
    for k in range(head, count):
        days = day - max(since, born[k] + blown)
        if days > 0.0:
            gone = share[k] * (1.0 - (1.0 - loss) ** days)
            share[k] -= gone
            lost += gone
    return lost


@inlined
def under(day: float, lag: float, born: Any, head: int, count: int) -> int:
    """Where the layers under the skin begin; layers stand oldest first."""
    shown = count
    while shown > head and day - born[shown - 1] < lag - 1e-9:
        shown -= 1
    return shown


@compiled
def pull(
    day: float, judged: float, strength: float, selectivity: float, broken: float,
    lag: float, rate: float, end: float,
    new_slot: int, born: Any, share: Any, removed: Any, slot: Any, head: int, count: int, part: Any,
) -> tuple[int, int, int, float]:  # fmt: skip
    """Pull what is ``judged``, oldest first, with ln ``strength`` of the hand; ``part`` tells what each layer gave.

    Returns the first layer that holds hair, how many layers there are, how many stood, and the take.
    """
    shown = under(day, lag, born, head, count)
    standing = 0.0
    for k in range(head, shown):
        standing += share[k]
    take = standing
    if judged < ALL * standing:
        take = standing * (1.0 - math.exp(math.log(1.0 - judged / standing) * math.exp(strength)))
    left = selectivity * take
    for k in range(head, shown):
        part[k] = min(share[k], left)
        left -= part[k]
    rest = standing - selectivity * take
    blind = (1.0 - selectivity) * take
    if blind > LEAST and rest > LEAST:
        for k in range(head, shown):
            part[k] += (share[k] - part[k]) * blind / rest
    mean_born, stub_age = 0.0, 0.0
    first = head
    for k in range(head, shown):
        if broken > 0.0:
            mean_born += part[k] * born[k]
            stub_age += part[k] * grown(day - born[k], lag, rate, end)
        share[k] -= part[k]
        if share[k] <= LEAST and k == first:
            first = k + 1
    if broken > 0.0 and take > LEAST:
        born[count], share[count], slot[count] = mean_born / take, take * broken, new_slot + 1
        removed[count] = max(stub_age / take - STUB_MM, 0.0)
        k = count
        while k > first and after(born[k - 1], removed[k - 1], born[k], removed[k]):
            born[k], born[k - 1] = born[k - 1], born[k]
            share[k], share[k - 1] = share[k - 1], share[k]
            removed[k], removed[k - 1] = removed[k - 1], removed[k]
            slot[k], slot[k - 1] = slot[k - 1], slot[k]
            k -= 1
        count += 1
    born[count], share[count], removed[count] = day, take * (1.0 - broken), 0.0
    slot[count] = new_slot
    return first, count + 1, shown, take


@compiled
def visible(
    day: float, lag: float, rate: float, end: float, born: Any, share: Any, removed: Any,
    head: int, count: int, mean: Any, weight: Any,
) -> tuple[int, float]:  # fmt: skip
    """Lengths and shares of what stands above the skin, longest first; and the cover."""
    shown = under(day, lag, born, head, count)
    seen, cover = 0, 0.0
    for k in range(head, shown):
        if share[k] > LEAST:
            long, place = max(grown(day - born[k], lag, rate, end) - removed[k], 0.0), seen
            while place > 0 and mean[place - 1] < long:
                mean[place], weight[place] = mean[place - 1], weight[place - 1]
                place -= 1
            mean[place], weight[place] = long, share[k]
            cover += share[k]
            seen += 1
    return seen, cover
