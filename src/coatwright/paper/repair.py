"""Joins put right by hand: which are doubtful, and two hairs joined, one split, or two that exchange their arms.

Everything here works on kept traces and gives new ones: points, lengths, ends and wholeness are worked out again and
nothing is read from the photograph. Hairs go by numbers that a repair never gives anew, so that a list of repairs
can be kept, done again in order, and taken back. Nothing is learned from a repair.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from coatwright.errors import OutOfOrder, OutOfRange, UnknownName
from coatwright.paper.marks import DECIMALS, Floats, Hair, Joint, Trace
from coatwright.paper.repair_record import Repair, spoken
from coatwright.paper.splice import arms, bend, evenly, nearest, spliced, steps_of
from coatwright.paper.wholeness import hair_length, judged
from coatwright.units import Millimetres

Hairs = Mapping[int, Hair]
LEAST_CHANCE = 0.15
"""A joint is doubtful where its other way has at least this chance to be right."""
MOST_MARGIN = 3.0
_CHANCE = (-1.51, -0.18, -0.48, -1.56, -2.06)
"""Logistic regression of whether the repair puts a hair right: constant, margin, log odds that the less sure hair is
one hair, whether it is a split, and the change of bend in units of 30 degrees (``python -m tools.paper.doubts``)."""
REACH_MM = 2.5
"""An exchange takes hairs that both come this near to the place."""
MOST_GAP_MM = 15.0
"""Ends farther apart than this are not joined."""
SAME_PLACE_MM = 1.2
BY_HAND = ", after a repair by hand"


@dataclass(frozen=True)
class Repaired:
    """The hairs after a repair, and what was done."""

    hairs: dict[int, Hair]
    repair: Repair


@dataclass(frozen=True)
class Doubt:
    """A joint that may be wrong, and the repair that would make it the other way."""

    repair: Repair
    margin: float
    """Log odds by which the joint as it is was likelier; below 0 the other way was, and lost to its neighbours."""
    bend: tuple[float, float]
    """The sharpest bend (degrees) at the place as it is, and after the repair."""
    chance: float
    """That the repair is right, 0 to 1."""


def numbered(hairs: Sequence[Hair]) -> dict[int, Hair]:
    """The hairs of a reading by number, from 0 in the order in which they were read; sentences say one more."""
    return dict(enumerate(hairs))


def next_number(hairs: Hairs, repairs: Sequence[Repair]) -> int:
    """A number that neither a hair of the reading nor one made by ``repairs`` ever had."""
    return 1 + max([*hairs, *(number for one in repairs for number in one.touched)], default=-1)


def join(hairs: Hairs, a: int, b: int, at: tuple[float, float] | None = None, *, blur_px: float) -> Repaired:
    """Two hairs made one, ``a``, at the ends nearest to ``at``, or to each other.

    ``blur_px`` is that of the photograph. Raises :class:`~coatwright.errors.OutOfRange` where the ends are more than
    15 mm apart, :class:`~coatwright.errors.UnknownName` where a hair is missing.
    """
    one, two = _two(hairs, a, b)
    p, q = one.trace.points, two.trace.points
    best = (np.inf, False, False)
    for turn_p in (False, True):
        for turn_q in (False, True):
            tip, top = p[0 if turn_p else -1], q[-1 if turn_q else 0]
            far = float(np.hypot(*(tip - top)))
            if at is not None:
                far = float(np.hypot(*(tip - at)) + np.hypot(*(top - at)))
            best = min(best, (far, turn_p, turn_q))
    _, turn_p, turn_q = best
    tip, top = p[0 if turn_p else -1], q[-1 if turn_q else 0]
    gap = float(np.hypot(*(tip - top)))
    if gap > MOST_GAP_MM:
        raise OutOfRange(
            f"The ends are {gap:.0f} mm apart; {MOST_GAP_MM:.0f} mm are the most that are joined.",
            where=f"hairs {spoken(a)} and {spoken(b)}",
            remedy="Choose hairs whose ends lie beside each other.",
        )
    place = _round(tuple((tip + top) / 2) if at is None else at)
    points = spliced(p if turn_p else p[::-1], q[::-1] if turn_q else q)
    ends = one.ends[1 if turn_p else 0], two.ends[0 if turn_q else 1]
    first = one.joints[::-1] if turn_p else one.joints
    second = two.joints[::-1] if turn_q else two.joints
    made = _made(points, ends, (one, two), first + second, place, blur_px)
    left = {k: hair for k, hair in hairs.items() if k != b} | {a: made}
    return Repaired(left, Repair("join", (a, b), place))


def split(hairs: Hairs, hair: int, at: tuple[float, float], *, new: int = -1, blur_px: float) -> Repaired:
    """One hair cut at the point nearest to ``at``: the first part keeps its number, the second is ``new``.

    Left out, ``new`` is the next number above those there are; give :func:`next_number` where hairs were joined.
    The two new ends are unclear. Raises :class:`~coatwright.errors.OutOfRange` within half a millimetre of an end or
    more than 2.5 mm beside the hair.
    """
    one = _known(hairs, hair)
    k, off = nearest(one.trace.points, at)
    first, second = arms(one.trace.points, at)
    if off > REACH_MM:
        raise _beside(hair, off)
    if not len(first) or not len(second):
        raise OutOfRange(
            "This is an end of the hair already.",
            where=f"hair {spoken(hair)}",
            remedy="Choose a point further along it.",
        )
    place = _round(one.trace.points[k])
    before, after = _sorted_joints(one, k)
    new = max(hairs) + 1 if new < 0 else new
    if new in hairs:
        raise OutOfOrder(f"Hair {spoken(new)} is there before a split makes it.", where="repairs")
    parts = {
        hair: _made(first[::-1], (one.ends[0], "unclear"), (one,), before, place, blur_px),
        new: _made(second, ("unclear", one.ends[1]), (one,), after, place, blur_px),
    }
    return Repaired({**hairs, **parts}, Repair("split", (hair,), place, made=new))


def exchange(
    hairs: Hairs, a: int, b: int, at: tuple[float, float], way: int | None = None, *, blur_px: float
) -> Repaired:
    """Two hairs that meet at ``at`` go on there each in an arm of the other.

    Of the two ways to do so the one with the gentler bends is taken, unless ``way`` says which. A hair may begin or
    end at the place: it then takes over an arm of the other. Raises :class:`~coatwright.errors.OutOfRange` where one
    of them comes no nearer than 2.5 mm, or where both end there (that is a join).
    """
    one, two = _two(hairs, a, b)
    for number, hair in ((a, one), (b, two)):
        _, off = nearest(hair.trace.points, at)
        if off > REACH_MM:
            raise _beside(number, off)
    at = _round(at)
    mine, other = arms(one.trace.points, at), arms(two.trace.points, at)
    if sum(len(arm) > 0 for arm in (*mine, *other)) < 3:
        raise OutOfRange(
            "Both hairs end here.",
            where=f"hairs {spoken(a)} and {spoken(b)}",
            remedy="Join them instead, or choose the crossing.",
        )
    chosen = _gentler(mine, other) if way is None else way
    made = {a: _from_arms((one, two), (mine[0], other[1 - chosen]), (0, 1 - chosen), at, blur_px)}
    if chosen:
        made[b] = _from_arms((one, two), (mine[1], other[1]), (1, 1), at, blur_px)
    else:
        made[b] = _from_arms((two, one), (other[0], mine[1]), (0, 1), at, blur_px)
    return Repaired({**hairs, **made}, Repair("exchange", (a, b), at, way=chosen))


def apply(hairs: Hairs, repair: Repair, *, blur_px: float) -> Repaired:
    """One repair carried out: as a doubt proposes it, or again as it was done first."""
    a, b = repair.hairs[0], repair.hairs[-1]
    if repair.kind == "join":
        return join(hairs, a, b, repair.at, blur_px=blur_px)
    if repair.kind == "split":
        return split(hairs, a, repair.at, new=repair.made, blur_px=blur_px)
    return exchange(hairs, a, b, repair.at, repair.way, blur_px=blur_px)


def replay(hairs: Hairs, repairs: Sequence[Repair], *, blur_px: float) -> dict[int, Hair]:
    """The hairs of a reading after all ``repairs`` in order."""
    out = dict(hairs)
    for repair in repairs:
        out = apply(out, repair, blur_px=blur_px).hairs
    return out


def taken_back(repairs: Sequence[Repair], which: int) -> list[Repair]:
    """The repairs without number ``which`` of the list (from 0) and without those later ones that stand on it."""
    if not 0 <= which < len(repairs):
        raise OutOfRange(f"There is no repair {which + 1}.", remedy=f"There are {len(repairs)}.")
    gone = set(repairs[which].touched)
    kept = list(repairs[:which])
    for repair in repairs[which + 1 :]:
        if gone & repair.touched:
            gone |= repair.touched
        else:
            kept.append(repair)
    return kept


def doubtful(hairs: Hairs, *, least: float = LEAST_CHANCE, most: int = 40) -> list[Doubt]:
    """The joints that may be wrong, the least sure first, each with the repair for it; at most ``most``.

    ``least`` is the least chance that the repair is right. A crossing that two hairs tell of comes once.
    """
    found: list[Doubt] = []
    for number, hair in hairs.items():
        for joint in hair.joints:
            doubt = _doubt(hairs, number, joint) if joint.margin < MOST_MARGIN else None
            if doubt is not None and doubt.chance >= least:
                found.append(doubt)
    found.sort(key=lambda one: (-one.chance, one.repair.hairs, one.repair.at))
    once: list[Doubt] = []
    for doubt in found:
        if not any(_same(doubt.repair, other.repair) for other in once):
            once.append(doubt)
    return once[:most]


def _doubt(hairs: Hairs, number: int, joint: Joint) -> Doubt | None:
    """What a joint's other way would be as a repair; None where no hair takes part in it."""
    other = -1 if joint.other == joint.at else _hair_at(hairs, joint.other, number)
    mine = arms(hairs[number].trace.points, joint.at)
    at = _round(joint.at)
    if other < 0:
        if not joint.joined or not len(mine[0]) or not len(mine[1]):
            return None
        return _weighed(hairs, Repair("split", (number,), at), joint.margin, (_degrees(mine), 0.0))
    theirs = arms(hairs[other].trace.points, joint.at)
    _, off = nearest(hairs[other].trace.points, joint.at)
    if off > REACH_MM:
        return None
    both = (number, other) if number < other else (other, number)
    before = max(_degrees(mine), _degrees(theirs))
    if sum(len(arm) > 0 for arm in (*mine, *theirs)) < 3:
        left = [next((arm for arm in pair if len(arm)), pair[0]) for pair in (mine, theirs)]
        after = _degrees((left[0], left[1]))
        return _weighed(hairs, Repair("join", both, at), joint.margin, (before, after))
    way = _gentler(mine, theirs)
    after = max(_degrees((mine[0], theirs[1 - way])), _degrees((mine[1], theirs[way])))
    return _weighed(hairs, Repair("exchange", both, at, way=way), joint.margin, (before, after))


def _weighed(hairs: Hairs, repair: Repair, margin: float, bends: tuple[float, float]) -> Doubt:
    """The doubt with the chance that its repair is right."""
    return Doubt(
        repair,
        margin,
        bends,
        float(1 / (1 + np.exp(-np.dot(_CHANCE, doubt_features(hairs, repair, margin, bends))))),
    )


def doubt_features(hairs: Hairs, repair: Repair, margin: float, bends: tuple[float, float]) -> list[float]:
    """What the chance of a repair is worked out from, in the order of its weights."""
    score = min(hairs[k].score for k in repair.hairs)
    sure = float(np.clip(np.log((score + 1e-6) / (1 - score + 1e-6)), -3, 3))
    straighter = float(np.clip(bends[1] - bends[0], -30, 30)) / 30 if repair.kind != "split" else 0.0
    return [1.0, float(np.clip(margin, -3, 3)), sure, float(repair.kind == "split"), straighter]


def _degrees(pair: tuple[Floats, Floats]) -> float:
    return float(np.degrees(bend(*pair)))


def _same(one: Repair, two: Repair) -> bool:
    near = np.hypot(one.at[0] - two.at[0], one.at[1] - two.at[1]) < SAME_PLACE_MM
    return bool(near) and one.kind == two.kind and one.hairs == two.hairs


def _hair_at(hairs: Hairs, at: tuple[float, float], but: int) -> int:
    """The hair other than ``but`` that a point lies on, or -1; -1 also where ``but`` itself runs there."""
    best, number = 0.4, -1
    for k, hair in hairs.items():
        points = hair.trace.points
        if (points.min(axis=0) - best > at).any() or (points.max(axis=0) + best < at).any():
            continue
        _, off = nearest(points, at)
        if off < best:
            best, number = off, k
    return -1 if number == but else number


def _gentler(mine: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> int:
    bends = [bend(mine[0], other[1 - way]) + bend(mine[1], other[way]) for way in (0, 1)]
    return int(bends[1] < bends[0])


def _from_arms(
    hairs: tuple[Hair, Hair],
    pair: tuple[Floats, Floats],
    sides: tuple[int, int],
    at: tuple[float, float],
    blur: float,
) -> Hair:
    """A hair of an arm of each of two; of one arm where the other is missing."""
    joints: list[tuple[Joint, ...]] = []
    for hair, side in zip(hairs, sides, strict=True):
        k, _ = nearest(hair.trace.points, at)
        before, after = _sorted_joints(hair, k)
        joints.append(after if side else before[::-1])  # both outwards
    outer = [hair.ends[side] for hair, side in zip(hairs, sides, strict=True)]
    if not len(pair[1]):
        return _made(pair[0][::-1], (outer[0], "unclear"), hairs[:1], joints[0][::-1], at, blur)
    if not len(pair[0]):
        return _made(pair[1], ("unclear", outer[1]), hairs[1:], joints[1], at, blur)
    return _made(spliced(*pair), (outer[0], outer[1]), hairs, joints[0][::-1] + joints[1], at, blur)


def _sorted_joints(hair: Hair, at: int) -> tuple[tuple[Joint, ...], tuple[Joint, ...]]:
    """The joints of a hair before and behind one of its points."""
    before: list[Joint] = []
    after: list[Joint] = []
    for joint in hair.joints:
        k, _ = nearest(hair.trace.points, joint.at)
        (before if k < at else after).append(joint)
    return tuple(before), tuple(after)


def _made(
    points: Floats,
    ends: tuple[str, str],
    of: tuple[Hair, ...],
    joints: tuple[Joint, ...],
    at: tuple[float, float],
    blur: float,
) -> Hair:
    """A new hair along ``points``, its looks the mean of those it is ``of``, weighted by length."""
    points = np.round(evenly(points), DECIMALS)
    traced = float(steps_of(points)[-1])
    weights = np.array([hair.length_mm for hair in of])
    weights = weights / weights.sum()
    colour = weights @ np.array([hair.trace.colour for hair in of])
    trace = Trace(
        points,
        float(weights @ [hair.trace.width_mm for hair in of]),
        float(weights @ [hair.trace.contrast for hair in of]),
        (float(colour[0]), float(colour[1]), float(colour[2])),
    )
    whole, why = judged(ends, 1.0, blur)
    kept = tuple(joint for joint in joints if np.hypot(*(np.array(joint.at) - at)) >= SAME_PLACE_MM)
    return Hair(trace, hair_length(traced, ends), whole, ends, 1.0, why + BY_HAND, kept)


def _round(at: Any) -> tuple[float, float]:
    return round(float(at[0]), DECIMALS), round(float(at[1]), DECIMALS)


def _known(hairs: Hairs, number: int) -> Hair:
    if number not in hairs:
        raise UnknownName(
            f"There is no hair {spoken(number)}.",
            where="repair",
            remedy="It was joined to another, or never read.",
        )
    return hairs[number]


def _two(hairs: Hairs, a: int, b: int) -> tuple[Hair, Hair]:
    if a == b:
        raise OutOfRange(
            "A hair cannot be joined to itself.", where=f"hair {spoken(a)}", remedy="Choose two hairs."
        )
    return _known(hairs, a), _known(hairs, b)


def _beside(number: int, off: Millimetres) -> OutOfRange:
    return OutOfRange(
        f"The place lies {off:.1f} mm beside the hair.",
        where=f"hair {spoken(number)}",
        remedy="Choose a point on the hair.",
    )
