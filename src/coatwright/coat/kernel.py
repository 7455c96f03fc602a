"""The inner loop of the forecast, compiled: one zone, many draws and days.

It computes what :mod:`coatwright.coat.measures` computes, with two economies: the normal distribution is read
from a table (step 1/400, error below 1e-6), and the outline is carried from one day to the next: where the
longest layer alone makes it, it stays the same multiple of that layer's mean until a layer comes or goes;
elsewhere Newton steps correct it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from scipy.special import ndtr

from coatwright.compiling import numba

_F = TypeVar("_F", bound=Callable[..., Any])

_REACH = 5.0
_STEPS = 400
_GRID = np.arange(-_REACH, _REACH + 2.0 / _STEPS, 1.0 / _STEPS)
CDF = ndtr(_GRID)
PDF = np.exp(-0.5 * _GRID**2) / math.sqrt(2.0 * math.pi)
_TAIL = 0.05
_HALVED = 0.02
"""Where the interval is halved instead, it is halved down to this (mm)."""
_NEAR = 3.6
"""A layer whose hairs this many standard deviations above its mean are still shorter adds nothing to the outline."""
_CLOSE = 0.04
"""Newton's error after a step of this size (mm) is a few thousandths of a millimetre."""
_CLOSE_PART = 0.004
"""... and no larger a part of the longest layer's mean than this: the multiple read off hair that is still short is
carried on until that hair is long."""


compiled: Callable[[_F], _F] = numba.njit(cache=True, nogil=True)
inlined: Callable[[_F], _F] = numba.njit(cache=True, nogil=True, inline="always")


@inlined
def look_up(table: Any, z: float) -> float:
    position = (z + _REACH) * _STEPS
    index = int(position)
    part: float = position - index
    value: float = table[index] + part * (table[index + 1] - table[index])
    return value


@inlined
def _longer(cdf: Any, threshold: float, mean: float, spread: float) -> float:
    """Share of a layer longer than a threshold of 0 mm or more."""
    if mean <= 0.0:
        return 0.0
    gap = mean - threshold
    sd = spread * mean
    if gap >= _REACH * sd:
        return 1.0 if gap > 0.0 else 0.5
    if gap <= -_REACH * sd:
        return 0.0
    return look_up(cdf, gap / sd)


@compiled
def outline_of(
    cdf: Any,
    pdf: Any,
    mean: Any,
    weight: Any,
    count: int,
    falling: bool,
    spread: float,
    target: float,
    start: float,
) -> float:
    """Length that hairs of total weight ``target`` exceed; ``start`` is a guess, negative for none.

    ``falling`` says that the means fall from one layer to the next, so that the sums may stop early.
    """
    longest: float = mean[0]
    if not falling:
        for k in range(count):
            longest = max(longest, mean[k])
    low, high = 0.0, longest * (1.0 + _REACH * spread) + 1e-9
    value = start if 0.0 <= start < high else longest
    for _ in range(60):
        beyond, slope = -target, 0.0
        for k in range(count):
            sd = spread * mean[k]
            gap = mean[k] - value
            if gap >= _REACH * sd:
                beyond += weight[k] if mean[k] > 0.0 else 0.0
            elif gap > -_REACH * sd:
                z = gap / sd
                beyond += weight[k] * look_up(cdf, z)
                slope += weight[k] * pdf[int((z + _REACH) * _STEPS)] / sd
            elif falling:
                break
        if beyond > 0.0:
            low = value
        else:
            high = value
        step = value + beyond / slope if slope > 1e-9 else -1.0
        close = min(_CLOSE, _CLOSE_PART * longest)
        if not low < step < high:
            step = 0.5 * (low + high)
            close = min(_HALVED, _CLOSE_PART * longest)
        moved = abs(step - value)
        value = step
        if moved < close:
            break
    return value


@compiled
def run_zone(
    cdf: Any,
    pdf: Any,
    starts: Any,
    offsets: Any,
    layers: Any,
    fixed: Any,
    aim: Any,
    lag: Any,
    speed: Any,
    end: Any,
    first: int,
    cover: Any,
    outline: Any,
    ready: Any,
) -> None:
    spread, hold, slack = fixed[0], fixed[1], fixed[2]
    reach = 1.0 + _NEAR * spread
    days = cover.shape[1]
    widest = 0
    for e in range(len(starts)):
        widest = max(widest, offsets[e + 1] - offsets[e])
    mean, weight = np.empty(widest), np.empty(widest)
    for d in range(len(lag)):
        epoch, guess, factor, counted, before = 0, -1.0, 0.0, -1, 0.0
        blown_age = lag[d] + end[d] / speed[d] + hold
        for t in range(days):
            day = first + t
            while epoch + 1 < len(starts) and starts[epoch + 1, 0] <= day:
                epoch += 1
                guess, factor, counted = -1.0, 0.0, -1
            seen, top, over = 0.0, 0.0, 0.0
            count, falling = 0, True
            for k in range(offsets[epoch], offsets[epoch + 1]):
                age = day - layers[k, 0]
                share = layers[k, 1]
                if age < lag[d] - 1e-9:
                    continue
                grown = max(min(speed[d] * (age - lag[d]), end[d]) - layers[k, 2], 0.0)
                mean[count], weight[count] = grown, share
                falling = falling and (count == 0 or grown <= mean[count - 1])
                count += 1
                seen += share
                if len(aim) > 0:
                    beyond = _longer(cdf, aim[1], grown, spread)
                    over += share * (1.0 if age >= blown_age else beyond)
                    reached = 1.0 if aim[0] <= 0.0 else _longer(cdf, aim[0], grown, spread)
                    top += share * max(reached - beyond, 0.0)
            if count > 0:
                if count != counted:
                    factor = 0.0
                alone = falling and mean[0] > 0.0 and (count == 1 or mean[1] * reach < factor * mean[0])
                if factor > 0.0 and alone:
                    guess = factor * mean[0]
                else:
                    shifted = guess * mean[0] / before if guess >= 0.0 and before > 0.0 else -1.0
                    guess = outline_of(cdf, pdf, mean, weight, count, falling, spread, _TAIL * seen, shifted)
                    single = mean[0] > 0.0 and falling and (count == 1 or mean[1] * reach < guess)
                    factor = guess / mean[0] if single else 0.0
                counted, before = count, mean[0]
                outline[d, t] = guess
            else:
                outline[d, t] = 0.0
            cover[d, t] = seen
            ready[d, t] = len(aim) == 0 or (
                seen >= aim[2] - slack
                and top >= aim[3] - slack
                and over <= aim[4] + slack
                and day - starts[epoch, 1] >= aim[5]
            )


def run(*arguments: Any) -> None:
    """Fill cover, outline and ready (draws, days) of one zone; arguments as in ``run_zone`` after the tables."""
    run_zone(CDF, PDF, *arguments)
