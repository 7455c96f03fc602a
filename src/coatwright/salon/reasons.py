"""Why a visit pulls one zone and spares another, in plain words, worked out from the plan and the coat.

Each reason is a fact of the model and no more: what the coat of a zone would be if it were left alone today while
all later takes stay, what hair pulled today would be on the day of the show, or which limit holds a take back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from coatwright.coat.forecast import Epochs, carry_out
from coatwright.coat.growth import length, share_longer
from coatwright.coat.layers import ZoneCoat, shed
from coatwright.coat.measures import cover, cut_share, in_band, overdue
from coatwright.planning.plan import TELLING
from coatwright.planning.problem import STEP
from coatwright.printing import words
from coatwright.salon.outlooks import name_of
from coatwright.units import Day, Share, date_of, day_of

if TYPE_CHECKING:
    from coatwright.coat.aims import Aim
    from coatwright.planning.problem import Problem, ZoneTask
    from coatwright.salon.plans import DogPlan

EPS = 1e-6
NEARLY_ALL: Share = 0.95
KEPT: Share = 0.9
"""Of what is pulled today so much must still stand on the show day, for its length there to be a reason."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why ``share`` of a zone (0: none of it) is pulled at a visit; ``text`` has no capital and no full stop."""

    zone: str
    name: str
    share: Share
    text: str


def reasons_of(
    plan: DogPlan, day: date, *, unit: str = "mm", day_text: Callable[[date], str] | None = None
) -> tuple[Reason, ...]:
    """A reason for every zone of the plan at the visit of ``day``, in working order.

    ``unit`` is mm or in; ``day_text`` writes a day as the reader writes dates (default: ``6 Jan 2027``).
    """
    words.check_unit(unit)
    said = day_text or (lambda each: words.short_day(each, day))
    whole = plan.option.plan
    found = []
    for task, epochs, row in zip(whole.problem.zones, whole.epochs, whole.takes, strict=True):
        at = _At(plan, whole.problem, task, epochs, tuple(map(float, row)), day_of(day), unit, said)
        text = at.why_taken() if at.share > 0.0 else at.why_spared()
        found.append(Reason(task.key, name_of(task.key), at.share, text))
    return tuple(found)


@dataclass(frozen=True)
class _At:
    """One zone at one visit of a plan."""

    plan: DogPlan
    problem: Problem
    task: ZoneTask
    epochs: Epochs
    row: tuple[Share, ...]
    day: Day
    unit: str
    said: Callable[[date], str]

    @property
    def share(self) -> Share:
        """What the plan takes at this visit."""
        return dict(zip(self.problem.visits, self.row, strict=True)).get(self.day, 0.0)

    @property
    def before(self) -> ZoneCoat:
        """The coat on the day, before its pull."""
        last = max((k for k, start in enumerate(self.epochs.starts) if start < self.day), default=0)
        return shed(self.epochs.coats[last], self.epochs.starts[last], self.day, self.task.growth)

    @property
    def cover(self) -> Share:
        """Cover before the pull."""
        return cover(self.before, self.day, self.task.growth, self.task.visible_from)

    @property
    def floor(self) -> Share:
        """Least cover that the plan holds the zone to on this day."""
        spans = [least for first, last, least in self.problem.covered if first <= self.day <= last]
        return max(self.task.look, self.task.welfare, *spans)

    @property
    def next_take(self) -> Day | None:
        """The zone's next take that is shown."""
        later = (v for v, s in zip(self.problem.visits, self.row, strict=True) if v > self.day and s > 0.0)
        coming = next(later, None)
        return coming if coming is not None and coming <= self.plan.option.shown_until else None

    @property
    def show(self) -> Day | None:
        """The next wished day of a coat that is wanted for single days only."""
        if self.problem.wish.rolling:
            return None
        return min((each for each in self.problem.wish.days if each > self.day), default=None)

    # ---- a take ----------------------------------------------------------------------------------------

    def why_taken(self) -> str:
        """Why it is taken today, and what sets the amount."""
        if (self.task.key, self.day) in self.plan.case.fixed:
            return "set by hand"
        why = self._for_show() or self._left_alone() or self._in_turn()
        limit = self._how_much()
        return f"{why}; {limit}" if limit else why

    def _for_show(self) -> str:
        aim, show = self.task.aim, self.show
        if aim is None or show is None:
            return ""
        kept = sum(layer.share for layer in self.epochs.at(show).layers if layer.born == self.day)
        mean = float(length(show - self.day, self.task.growth))
        if kept < KEPT * self.share * (1.0 - self.task.broken) or not aim.lo <= mean <= aim.hi:
            return ""
        return f"hair pulled now is {self._mm(mean)} on {self._on(show)}, when {self._band(aim)} is wanted"

    def _left_alone(self) -> str:
        aim = self.task.aim
        if aim is None:
            return ""
        takes = [
            (visit, 0.0 if visit == self.day else share)
            for visit, share in zip(self.problem.visits, self.row, strict=True)
        ]
        growth = self.task.growth
        without = carry_out(self.task.coat, self.problem.today, takes, growth, broken=self.task.broken)
        for day in self._judged():
            then, now = without.at(day), self.epochs.at(day)
            over = overdue(then, day, growth, aim)
            if over > max(aim.over_limit, overdue(now, day, growth, aim)) + TELLING:
                share = words.percent(over)
                return (
                    f"oldest hair {self._oldest()}; left alone, {share} would be overgrown on {self._on(day)}"
                )
            top = in_band(then, day, growth, aim)
            if top < min(aim.top, in_band(now, day, growth, aim)) - TELLING:
                return f"left alone, only {words.percent(top)} would be within {self._band(aim)} on {self._on(day)}"
        return ""

    def _in_turn(self) -> str:
        blunt = cut_share(self.before)
        cut = f", and {words.percent(blunt)} of it is cut or broken" if blunt > TELLING else ""
        hangs = "not judged" if self.task.aim is None else "no ready day hangs on this take"
        return f"{hangs}; the oldest hair, {self._oldest()}, goes in its turn{cut}"

    def _how_much(self) -> str:
        """What keeps the take from being one step larger; nothing where none of the limits told does."""
        if self.share >= self.cover - EPS:
            return "all that stands above the skin"
        if self.share + STEP > self.task.cap + EPS:
            return f"tender: never more than {words.percent(self.task.cap)}"
        if self.floor > 0.0 and self.cover - self.share - STEP < self.floor - EPS:
            return f"more would leave less than {words.percent(self.floor)} cover"
        visit = self.problem.visits.index(self.day)
        limit, used = self.problem.minutes[visit], float(self.plan.option.plan.minutes[visit])
        if used + STEP * self.task.minutes > limit + EPS:
            return f"more does not fit into the {words.minutes(limit)} of this visit"
        return ""

    # ---- a zone left alone -----------------------------------------------------------------------------

    def why_spared(self) -> str:
        """Why it is left alone today, and when its turn comes."""
        coming = self.next_take
        turn = f"; next take {self._on(coming)}" if coming is not None else ""
        if (self.task.key, self.day) in self.plan.case.fixed:
            return f"set by hand to nothing{turn}"
        if self.cover <= EPS:
            return f"all of it is under the skin{turn}"
        if self.floor > 0.0 and self.cover - STEP < self.floor - EPS:
            least = words.percent(self.floor)
            return f"thin: {words.percent(self.cover)} cover, never to be less than {least}{turn}"
        return f"{self._too_early() or self._young() or self._can_wait()}{turn}"

    def _too_early(self) -> str:
        aim, show = self.task.aim, self.show
        if aim is None or show is None:
            return ""
        mean = float(length(show - self.day, self.task.growth))
        longer = float(share_longer(aim.hi, mean, self.task.growth.spread))
        if longer <= aim.over_limit:
            return ""
        if longer < NEARLY_ALL:
            part, most = words.percent(longer), self._mm(aim.hi)
            return f"too early: {part} of what is pulled now would be longer than {most} on {self._on(show)}"
        return (
            f"too early: hair pulled now would be {self._mm(mean)} on {self._on(show)}, "
            f"when {self._band(aim)} is wanted"
        )

    def _young(self) -> str:
        age = self.day - int(self.before.born.min())
        if age >= self.task.growth.ripe - EPS:
            return ""
        ripe = words.weeks(*[round(self.task.growth.ripe / 7.0)] * 2)
        return f"young: the oldest hair is {self._oldest()}, and it comes willingly from {ripe} on"

    def _can_wait(self) -> str:
        aim, growth = self.task.aim, self.task.growth
        if aim is None:
            return "not judged"
        coming = self.next_take
        until = coming if coming is not None else self.plan.option.shown_until
        coat = self.epochs.before(until) if coming is not None else self.epochs.at(until)
        over = overdue(coat, until, growth, aim)
        if over <= aim.over_limit + TELLING:
            most = f"no more than {words.percent(over)}" if over >= 0.005 else "nothing"
            return f"not due: {most} is overgrown by {self._on(until)}"
        wished = self.problem.wish.every_from
        if wished is not None and until <= wished:
            return f"can wait: it need not be ready before {self._on(wished)}"
        if self.show is not None and until <= self.show:
            return f"can wait: it need not be ready before {self._on(self.show)}"
        return f"its oldest hair is {self._oldest()}"

    # ---- days and words --------------------------------------------------------------------------------

    def _judged(self) -> Iterator[Day]:
        """Days to look at: the shows to come, and both ends of each stretch between visits of a rolling wish.

        Between two pulls hair only grows longer and more of it comes up, so that the ends tell the worst.
        """
        wish, quiet = self.problem.wish, self.task.aim.quiet if self.task.aim else 0
        days = {day for day in wish.days if day > self.day}
        if wish.every_from is not None:
            for visit, following in pairwise((*self.problem.visits, self.problem.last_day + 1)):
                days |= {min(visit + quiet, following - 1), following - 1}
            days = {day for day in days if day >= wish.every_from or day in wish.days}
        yield from sorted(day for day in days if self.day < day <= self.plan.option.shown_until)

    def _oldest(self) -> str:
        age = self.day - int(self.before.born.min())
        if age >= self.task.growth.full_age - EPS:
            return "full-grown"
        return words.weeks(round(age / 7.0), round(age / 7.0))

    def _on(self, day: Day) -> str:
        return self.said(date_of(day))

    def _mm(self, mm: float) -> str:
        return words.length(mm, self.unit)

    def _band(self, aim: Aim) -> str:
        return words.lengths(aim.lo, aim.hi, self.unit)
