"""The inner loop of the length witness, compiled: which hairs are pieces, drawn over and over (collapsed Gibbs).

Every hair belongs to one part of the length law; every hair of the tested sheet is also whole, a piece, or broken so
near the skin that it is as long as a whole one. The weights of the parts, the break share, the share of breaks near
the skin, the sensitivity and the specificity are integrated out (Dirichlet and Beta priors), so that a draw changes
one hair at a time and needs one uniform number.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np

from coatwright.compiling import numba

_F = TypeVar("_F", bound=Callable[..., Any])

compiled: Callable[[_F], _F] = numba.njit(cache=True, nogil=True)


@compiled
def _pick(chances: Any, count: int, u: float) -> int:
    """Index of the cumulated ``chances`` that a uniform number falls on."""
    target = u * chances[count - 1]
    for k in range(count - 1):
        if target < chances[k]:
            return k
    return count - 1


@compiled
def sweep_hairs(
    control: Any,
    whole: Any,
    piece: Any,
    judged: Any,
    alpha: Any,
    scale_chance: Any,
    share_prior: Any,
    near_prior: Any,
    ends: Any,
    sweeps: int,
    burn: int,
    rng: Any,
    pieces: Any,
    chance: Any,
    weights: Any,
    scales: Any,
) -> None:
    """Draw ``burn + sweeps`` times and add up what the last ``sweeps`` show.

    control (scales, m, parts), whole and piece (scales, n, parts): densities of each length under each part of the
    law, per scale of the law. judged (n,): 1 broken, 0 whole, -1 not judged. alpha (parts,): Dirichlet counts.
    scale_chance (scales,): prior. share_prior (2,), near_prior (2,), ends (4,): Beta parameters of the share, of the
    share of breaks near the skin, of sensitivity and of specificity. Filled: pieces (n + 1,) how often so many were
    broken; chance (n,) that a hair is; weights (parts,) mean weight of each part; scales (scales,).
    """
    m, n, parts, count_scales = control.shape[1], whole.shape[1], whole.shape[2], whole.shape[0]
    held = alpha.copy()
    part_of_control = np.zeros(m, dtype=np.int64)
    part_of = np.zeros(n, dtype=np.int64)
    fate = np.zeros(n, dtype=np.int64)
    state = np.array([ends[0], ends[1], ends[2], ends[3]])
    fall = np.empty(3 * parts)
    log_scale = np.empty(count_scales)
    s = count_scales // 2
    broken, near = 0, 0
    with_near = near_prior[0] > 0.0
    total = alpha.sum() + m + n
    for turn in range(-1, burn + sweeps):
        first = turn < 0
        for i in range(m):
            if not first:
                held[part_of_control[i]] -= 1.0
            run = 0.0
            for k in range(parts):
                run += held[k] * control[s, i, k]
                fall[k] = run
            k = _pick(fall, parts, rng.random())
            part_of_control[i] = k
            held[k] += 1.0
        for j in range(n):
            seen = judged[j]
            if not first:
                held[part_of[j]] -= 1.0
                broken -= 1 if fate[j] > 0 else 0
                near -= 1 if fate[j] == 2 else 0
                if seen >= 0:
                    state[(0 if seen == 1 else 1) if fate[j] > 0 else (2 if seen == 0 else 3)] -= 1.0
            others = j if first else n - 1
            as_whole = share_prior[1] + others - broken
            as_piece = share_prior[0] + broken
            if seen >= 0:
                as_piece *= (state[0] if seen == 1 else state[1]) / (state[0] + state[1])
                as_whole *= (state[2] if seen == 0 else state[3]) / (state[2] + state[3])
            as_near = 0.0
            if with_near:
                breaks = near_prior[0] + near_prior[1] + broken
                as_near = as_piece * (near_prior[0] + near) / breaks
                as_piece *= (near_prior[1] + broken - near) / breaks
            run = 0.0
            for k in range(parts):
                run += held[k] * as_whole * whole[s, j, k]
                fall[k] = run
            for k in range(parts):
                run += held[k] * as_piece * piece[s, j, k]
                fall[parts + k] = run
            count = 2 * parts
            if with_near:
                for k in range(parts):
                    run += held[k] * as_near * whole[s, j, k]
                    fall[count + k] = run
                count += parts
            k = _pick(fall, count, rng.random())
            fate[j] = k // parts
            k %= parts
            part_of[j] = k
            held[k] += 1.0
            broken += 1 if fate[j] > 0 else 0
            near += 1 if fate[j] == 2 else 0
            if seen >= 0:
                state[(0 if seen == 1 else 1) if fate[j] > 0 else (2 if seen == 0 else 3)] += 1.0
        if count_scales > 1:
            top = -np.inf
            for t in range(count_scales):
                value = np.log(scale_chance[t])
                for i in range(m):
                    value += np.log(control[t, i, part_of_control[i]])
                for j in range(n):
                    density = piece[t, j, part_of[j]] if fate[j] == 1 else whole[t, j, part_of[j]]
                    value += np.log(density)
                log_scale[t] = value
                top = max(top, value)
            run = 0.0
            for t in range(count_scales):
                run += np.exp(log_scale[t] - top)
                log_scale[t] = run
            s = _pick(log_scale, count_scales, rng.random())
        if turn >= burn:
            pieces[broken] += 1.0
            scales[s] += 1.0
            for j in range(n):
                chance[j] += 1.0 if fate[j] > 0 else 0.0
            for k in range(parts):
                weights[k] += held[k] / total
    for j in range(n):
        chance[j] /= sweeps
    for k in range(parts):
        weights[k] /= sweeps
    for c in range(n + 1):
        pieces[c] /= sweeps
    for t in range(count_scales):
        scales[t] /= sweeps
