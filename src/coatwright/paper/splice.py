"""Lines cut and put together by hand: where a point lies along one, what a cut leaves, a smooth way across a gap."""

from __future__ import annotations

import numpy as np

from coatwright.paper.marks import Floats

STEP_MM = 0.1
TRIM_MM = 0.4
"""Points this near to a joint were drawn towards the line that was wrongly taken, and are left out."""
MOST_TRIM_MM = 3.0
LOOK_MM = 2.0
"""How much of a line tells its heading at the end."""
LEAST_ARM_MM = 0.5
"""A shorter arm beyond a crossing is no arm."""


def steps_of(points: Floats) -> Floats:
    """(n,) mm along a line up to each of its points (n, 2)."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def nearest(points: Floats, at: tuple[float, float]) -> tuple[int, float]:
    """The point of a line that is nearest to a place, and how far off it is, mm."""
    far = np.hypot(*(points - np.asarray(at)).T)
    k = int(np.argmin(far))
    return k, float(far[k])


def arms(points: Floats, at: tuple[float, float]) -> tuple[Floats, Floats]:
    """The two arms of a line cut at its point nearest to a place, each from there outwards; (0, 2) if very short."""
    k, _ = nearest(points, at)
    none: Floats = np.zeros((0, 2))
    back, forth = (
        arm if len(arm) > 1 and steps_of(arm)[-1] >= LEAST_ARM_MM else none
        for arm in (points[k::-1], points[k:])
    )
    return back, forth


def heading(arm: Floats) -> Floats:
    """(2,) unit vector out of the first point of an arm, away from the arm."""
    s = steps_of(arm)
    use = s <= max(LOOK_MM, float(s[1]))
    slope = np.polyfit(s[use], arm[use], 1)[0]
    return np.asarray(-slope / max(1e-12, float(np.hypot(*slope))))


def trimmed(arm: Floats, by: float) -> Floats:
    """An arm without its first ``by`` mm, at most a third of it."""
    s = steps_of(arm)
    kept = arm[s >= min(by, float(s[-1]) / 3)]
    return kept if len(kept) > 1 else arm[-2:]


def spliced(one: Floats, two: Floats) -> Floats:
    """Two arms made into one line, from the far end of ``one`` to the far end of ``two``, at steps of about 0.1 mm.

    Both lose what lies nearest to the joint, more where they overlap; the gap is filled by a cubic curve that takes
    up their headings.
    """
    by = TRIM_MM
    while True:
        a, b = trimmed(one, by), trimmed(two, by)
        out_a, out_b = heading(a), heading(b)
        chord = b[0] - a[0]
        if (chord @ out_a > 0 and chord @ out_b < 0) or by >= MOST_TRIM_MM:
            break
        by += STEP_MM
    size = float(np.hypot(*chord))
    u = np.linspace(0, 1, max(3, round(size / STEP_MM) + 1))[1:-1, None]
    bridge = (2 * u**3 - 3 * u**2 + 1) * a[0] + (u**3 - 2 * u**2 + u) * size * out_a
    bridge += (-2 * u**3 + 3 * u**2) * b[0] - (u**3 - u**2) * size * out_b
    return evenly(np.concatenate([a[::-1], bridge, b]))


def evenly(points: Floats) -> Floats:
    """The same line at equal steps of about 0.1 mm."""
    s = steps_of(points)
    at = np.linspace(0, s[-1], max(2, round(float(s[-1]) / STEP_MM) + 1))
    return np.column_stack([np.interp(at, s, points[:, c]) for c in range(2)])


def bend(one: Floats, two: Floats) -> float:
    """Radians between what leaves one arm and what enters the other; nought where either is missing."""
    if not len(one) or not len(two):
        return 0.0
    a, b = heading(trimmed(one, TRIM_MM)), -heading(trimmed(two, TRIM_MM))
    return float(np.arccos(np.clip(a @ b, -1.0, 1.0)))
