"""The plan of one dog as a linear program: rows and costs over the cohort networks of its zones.

Rows (coat model, section 3), for each zone z and visit j with take x[z,j]:

    flow, take   hairs are conserved; what is pulled regrows          network.add_flow
    cover        hidden share after each visit <= 1 - floor           _cover
    ready        over <= limit, top >= g, cover >= f on wished days   _ready
    futures      the same per future, with bounded tail shortfall     futures.add_futures
    time         sum_z w_z x[z,j] + set-up <= minutes of the visit    _time
    even, change, step: differences that cost                         _evenness, _changes, _steps

Every limit that circumstances may break has a shortfall column at a price, so there is always an optimum, and
the shortfalls say what could not be had.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from coatwright.coat.growth import Floats, Growth
from coatwright.errors import OutOfRange
from coatwright.planning.network import add_flow, cohort_network
from coatwright.planning.problem import SLIGHT, Problem, ZoneTask
from coatwright.planning.standing import Judged, ZoneFlow, hidden
from coatwright.programs import NO_BLOCK, Ints, Matrix, Program
from coatwright.units import date_of

FAINT = 1e-3
"""A part of a layer smaller than this is left out of a limit, on the safe side: it would fill the matrix with the
far tail of lengths."""


@dataclass(frozen=True, slots=True)
class Label:
    """What a block of shortfall columns measures: ``limit`` of ``zones`` on ``days``, one per column.

    A limit with a slight and a real price has two blocks; what is missed is their sum.
    """

    limit: str
    columns: Ints
    zones: Ints
    days: Ints


@dataclass(slots=True)
class CoatProgram:
    """A dog's program: the matrix and where to find things in it."""

    problem: Problem
    zones: list[ZoneFlow] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    time_rows: Ints = field(default_factory=lambda: np.zeros(0, np.int64))
    tail_short: Ints = field(default_factory=lambda: np.zeros(0, np.int64))
    takes: Ints = field(default_factory=lambda: np.zeros((0, 0), np.int64))
    lengths: Ints = field(default_factory=lambda: np.zeros((2, 0), np.int64))
    """Columns of mean lengths on judged days, and the rows that define them."""
    matrix: Matrix | None = None


def build(problem: Problem) -> CoatProgram:
    """The program of a problem."""
    from coatwright.planning.futures import add_futures

    program, coat = Program(), CoatProgram(problem)
    days, hold_quiet = wished_days(problem)
    for number in range(len(problem.zones)):
        program.block = number
        zone = _add_zone(program, problem, number)
        coat.zones.append(zone)
        _price_arcs(program, problem, zone)
        _cover(program, coat, zone)
        if zone.task.aim is not None:
            _ready(program, coat, zone, days)
            _middle(program, problem, zone)
        if problem.wish.rolling:
            _evenness(program, problem, zone)
    program.block = NO_BLOCK
    coat.takes = np.array([zone.columns.take for zone in coat.zones])
    _time(program, coat)
    _changes(program, coat)
    _steps(program, coat, days)
    if problem.futures is not None and len(hold_quiet):
        add_futures(program, coat, hold_quiet)
    coat.matrix = program.build()
    return coat


def wished_days(problem: Problem) -> tuple[Floats, Floats]:
    """Days on which the whole aim is asked: (shows and the first day of a rolling wish, the shows alone)."""
    shows = np.array(sorted(set(problem.wish.days)), dtype=float)
    if problem.wish.every_from is None or problem.wish.every_from > problem.last_day:
        return shows, shows
    first = float(max(problem.wish.every_from, problem.today))
    return np.unique(np.append(shows, first)), shows


def take_limits(problem: Problem, task: ZoneTask) -> tuple[Floats, Floats]:
    """Least and greatest take per visit: cap, quiet days before a show, cells fixed by hand."""
    visits = np.array(problem.visits, dtype=float)
    low, high = np.zeros(len(visits)), np.full(len(visits), task.cap)
    if task.aim is not None:
        for day in problem.wish.days:
            high[(visits > day - task.aim.quiet) & (visits <= day)] = 0.0
    for (key, day), share in problem.fixed.items():
        if key == task.key:
            j = problem.visits.index(day)
            low[j] = high[j] = share
    check_fixed(task, visits, low)
    return low, high


def check_fixed(task: ZoneTask, days: Floats, low: Floats) -> None:
    """Refuse cells fixed by hand that ask for more hair than can stand above the skin on their day."""
    renewed = low * (1.0 - task.broken)
    for j in np.flatnonzero(low > 0.0):
        gone = float(renewed[:j][days[:j] > days[j] - task.growth.lag + 1e-9].sum())
        under = days[j] - task.coat.born < task.growth.lag - 1e-9
        stands = 1.0 - gone - float(task.coat.shares[under].sum())
        if low[j] > stands + 1e-9:
            raise OutOfRange(
                f"{100 * low[j]:.0f} % is fixed by hand, but only {100 * max(stands, 0.0):.0f} % of the hairs can "
                "stand above the skin then.",
                where=f"{task.key}, {date_of(int(days[j]))}",
                remedy="Fix a smaller take there, or smaller ones in the four weeks before.",
            )


def _add_zone(program: Program, problem: Problem, number: int) -> ZoneFlow:
    task = problem.zones[number]
    growth = task.growth
    born = task.coat.born

    def survives(age_from: Floats, age_to: Floats) -> Floats:
        from coatwright.coat.growth import survival

        return survival(age_from, age_to, growth)

    network = cohort_network(
        float(problem.today),
        born,
        np.array(problem.visits, dtype=float),
        may_pull=lambda age: age >= growth.lag - 1e-9,
        survival=survives if growth.loss > 0.0 else None,
    )
    columns = add_flow(
        program,
        network,
        task.coat.shares,
        renewed=1.0 - task.broken,
        take_limits=take_limits(problem, task),
    )
    removed = np.concatenate([task.coat.removed, np.zeros(len(problem.visits))])
    return ZoneFlow(number, task, network, columns, task.coat.shares, removed)


def overdue_age(task: ZoneTask, growth: Growth, *, rolling: bool) -> float:
    """Age (d) from which a hair of this zone is overdue: past the aim's longest, or blown in a staged coat."""
    if not rolling or task.aim is None or task.aim.hi >= growth.end:
        return growth.blown_age
    return growth.lag + task.aim.hi / growth.speed


def _price_arcs(program: Program, problem: Problem, zone: ZoneFlow) -> None:
    """Costs that belong to a hair's way: pulled young, kept overdue, kept cut; and the minutes of each take."""
    costs, net, growth = problem.costs, zone.network, zone.task.growth
    age = net.age
    young = np.maximum(1.0 - age / growth.ripe, 0.0) if growth.ripe > 0 else 0.0 * age
    at_pull = costs.young * young + costs.order * (age / 100.0) ** 2
    cost = np.where(net.pulled, at_pull * net.kept, 0.0)

    ends = np.minimum(net.end_time, problem.last_day)
    born = net.born[net.tail]
    overdue = overdue_age(zone.task, growth, rolling=problem.wish.rolling)
    limit = overdue + zone.removed[net.tail] / growth.speed
    stood = np.maximum(ends - born - limit, 0.0)
    before = np.maximum(problem.today - born - limit, 0.0)
    cost = cost + costs.overdue * (_overdue_weight(stood) - _overdue_weight(before))

    is_cut = zone.removed[net.tail] > 0.0
    cost = cost + np.where(is_cut, costs.cut * (ends - problem.today) / 14.0, 0.0)
    program.add_cost(zone.columns.flow, cost)
    program.add_cost(zone.columns.take, costs.minute * zone.task.minutes)


def _overdue_weight(days: Floats) -> Floats:
    """Fortnights overdue, growing heavier: d/14 (1 + d/112). Convex, so that the oldest hair goes first."""
    return days / 14.0 * (1.0 + days / 112.0)


def _late_lag(problem: Problem, zone: int) -> float:
    """Extra lag (d) that a zone's floor of cover must bear: the (1 - tail) quantile over the futures."""
    futures = problem.futures
    if futures is None:
        return 0.0
    lag, _ = futures.of_zone(zone)
    order = np.argsort(lag)
    reached = np.cumsum(futures.weight[order]) >= 1.0 - futures.tail - 1e-12
    return max(float(lag[order][int(np.argmax(reached))]), 0.0)


def _floors(problem: Problem, task: ZoneTask) -> tuple[Floats, Floats]:
    """Days on which cover is lowest (after each visit, and as a covered span begins) and the cover asked there.

    The floor is the look of the wish and, from the first day of a rolling wish on, the aim; never less than
    welfare.
    """
    begins = [float(a) for a, _, _ in problem.covered if problem.today <= a <= problem.last_day]
    days = np.unique(np.append(np.array(problem.visits, dtype=float), begins))
    floor = np.full(len(days), max(task.look, task.welfare))
    if problem.wish.every_from is not None and task.aim is not None:
        floor[days >= problem.wish.every_from] = max(task.look, task.aim.cover, task.welfare)
    for first, last, share in problem.covered:
        inside = (days >= first) & (days <= last)
        floor[inside] = np.maximum(floor[inside], share)
    return days, floor


def _cover(program: Program, coat: CoatProgram, zone: ZoneFlow) -> None:
    """Hidden share after each visit: at most 1 - floor, short of look at one price and of welfare at another."""
    problem, task = coat.problem, zone.task
    days, floor = _floors(problem, task)
    weights = hidden(zone, days, cut=days, later=_late_lag(problem, zone.number))
    rows = program.add_rows(len(days), high=1.0 - floor - zone.constant(weights))
    zone.put_standing(program, rows, weights, days)
    soft = np.maximum(floor - task.welfare, 0.0)
    slight = np.minimum(soft, SLIGHT)
    costs = problem.costs
    for limit, price, most in (
        ("cover", costs.slight, slight),
        ("cover", costs.short, soft - slight),
        ("welfare", costs.harm, np.inf),
    ):
        _shortfall(program, coat, zone, limit, rows, -1.0, days, price=price, most=most)


def _shortfall(
    program: Program,
    coat: CoatProgram,
    zone: ZoneFlow,
    limit: str,
    rows: Ints,
    sign: float,
    days: Floats,
    *,
    price: float,
    most: Floats | float = np.inf,
) -> None:
    """A column per row by which its limit may be missed, at a price; remembered by what it measures."""
    columns = program.add_columns(len(rows), cost=price, high=most)
    program.put(rows, columns, sign)
    coat.labels.append(Label(limit, columns, np.full(len(rows), zone.number), days.astype(np.int64)))


def _ready(program: Program, coat: CoatProgram, zone: ZoneFlow, days: Floats) -> None:
    """The aim on wished days, and of a rolling wish at each visit: the top after the pull, no excess before."""
    problem = coat.problem
    _aim_rows(program, coat, zone, "over", days, days)
    _aim_rows(program, coat, zone, "top", days, days)
    _aim_rows(program, coat, zone, "cover", days, days)
    if problem.wish.every_from is None:
        return
    visits = np.array(problem.visits, dtype=float)
    after = visits[visits >= problem.wish.every_from]
    mornings = visits[visits > problem.wish.every_from]
    if problem.last_day > visits[-1]:
        mornings = np.append(mornings, problem.last_day)
    _aim_rows(program, coat, zone, "top", after, after)
    _aim_rows(program, coat, zone, "over", mornings, mornings - 1.0)


def _aim_rows(
    program: Program,
    coat: CoatProgram,
    zone: ZoneFlow,
    limit: str,
    days: Floats,
    cut: Floats,
) -> None:
    """Rows ``sum weights standing + shortfall >= what the aim asks`` on some days, for one limit."""
    if not len(days):
        return
    weights, asked = aim_weights(zone, limit, days, cut)
    rows = program.add_rows(len(days), low=asked - zone.constant(weights))
    zone.put_standing(program, rows, weights, cut)
    costs = coat.problem.costs
    _shortfall(program, coat, zone, limit, rows, 1.0, days, price=costs.slight, most=SLIGHT)
    _shortfall(program, coat, zone, limit, rows, 1.0, days, price=costs.short)


def aim_weights(
    zone: ZoneFlow, limit: str, days: Floats, cut: Floats, *, later: float = 0.0, faster: float = 1.0
) -> tuple[Floats, float]:
    """Weights (days, births) and the least sum that the aim asks of what stands, for one of its limits.

    All hairs that stand add up to 1, so "at most e over" is written "at least 1 - e not over", and cover
    as "at least f not hidden": only recent births have weight then.
    """
    aim = zone.task.aim
    if aim is None:
        raise ValueError(f"{zone.task.key} has no aim")
    if limit == "cover":
        return -hidden(zone, days, cut=cut, later=later), aim.cover - 1.0
    judged = Judged.of(zone, days, later=later, faster=faster, cut=cut)
    if limit == "top":
        return np.where(judged.top < FAINT, 0.0, judged.top), aim.top
    there = zone.network.born[None, :] <= cut[:, None]
    held = there * (1.0 - judged.over)
    return np.where(held < FAINT, 0.0, held), 1.0 - aim.over_limit


def _middle(program: Program, problem: Problem, zone: ZoneFlow) -> None:
    """On the day of a staged coat, hair costs by its distance from the middle of the band."""
    aim = zone.task.aim
    if aim is None or problem.wish.rolling or not problem.wish.days:
        return
    days = np.array(sorted(problem.wish.days), dtype=float)
    judged = Judged.of(zone, days)
    off = np.minimum(np.abs(judged.mean - aim.middle) / (0.5 * (aim.hi - aim.lo)), 1.0)
    born = zone.network.born[None, :] <= days[:, None]
    for day, weights in zip(days, problem.costs.middle * off * born, strict=True):
        zone.cost_standing(program, weights, float(day))


def _time(program: Program, coat: CoatProgram) -> None:
    """Minutes of each visit: ``sum_z w_z x[z,j] + set-up <= limit + overtime``."""
    problem = coat.problem
    room = np.array(problem.minutes, dtype=float) - problem.setup
    coat.time_rows = program.add_rows(len(room), high=room)
    for zone in coat.zones:
        program.put(coat.time_rows, zone.columns.take, zone.task.minutes)
    over = program.add_columns(len(room), cost=problem.costs.overtime)
    program.put(coat.time_rows, over, -1.0)
    coat.labels.append(
        Label("minutes", over, np.full(len(room), -1), np.array(problem.visits, dtype=np.int64))
    )


def _absolute(program: Program, rows: Ints, price: float) -> None:
    """Price what each row differs from its right side, either way."""
    for sign in (1.0, -1.0):
        program.put(rows, program.add_columns(len(rows), cost=price), sign)


def _evenness(program: Program, problem: Problem, zone: ZoneFlow) -> None:
    """Cost of the difference between one take and the next, in a rolling coat."""
    take = zone.columns.take
    if problem.costs.uneven > 0 and len(take) > 1:
        rows = program.add_rows(len(take) - 1, low=0.0, high=0.0)
        program.put(rows, take[1:], 1.0)
        program.put(rows, take[:-1], -1.0)
        _absolute(program, rows, problem.costs.uneven)


def _changes(program: Program, coat: CoatProgram) -> None:
    """Cost of departing from the plan before."""
    problem = coat.problem
    number = {zone.task.key: zone.number for zone in coat.zones}
    kept = {cell: share for cell, share in problem.previous.items() if cell[1] in set(problem.visits)}
    if kept and problem.costs.change > 0:
        targets = np.array(list(kept.values()))
        columns = [coat.takes[number[key], problem.visits.index(day)] for key, day in kept]
        rows = program.add_rows(len(kept), low=targets, high=targets)
        program.put(rows, columns, 1.0)
        _absolute(program, rows, problem.costs.change)


def _steps(program: Program, coat: CoatProgram, days: Floats) -> None:
    """Cost where neighbouring zones are unlike on a judged day: mean length, each against its own aim's middle."""
    price = coat.problem.costs.step
    aimed = {zone.task.key: zone for zone in coat.zones if zone.task.aim is not None}
    pairs = sorted({(min(k, n), max(k, n)) for k in aimed for n in aimed[k].task.neighbours if n in aimed})
    if price <= 0 or not pairs or not len(days):
        return
    lengths: dict[str, Ints] = {}
    for key, zone in aimed.items():
        aim = zone.task.aim
        if aim is None:
            continue
        lengths[key] = program.add_columns(len(days))
        weights = Judged.of(zone, days).mean / aim.middle
        rows = program.add_rows(len(days), low=-zone.constant(weights), high=-zone.constant(weights))
        zone.put_standing(program, rows, weights, days)
        program.put(rows, lengths[key], -1.0)
        coat.lengths = np.concatenate([coat.lengths, [lengths[key], rows]], axis=1)
    for one, other in pairs:
        a, b = aimed[one].task.aim, aimed[other].task.aim
        if a is None or b is None:
            continue
        rows = program.add_rows(len(days), low=0.0, high=0.0)
        program.put(rows, lengths[one], 1.0)
        program.put(rows, lengths[other], -1.0)
        _absolute(program, rows, price * 0.5 * (a.middle + b.middle))
