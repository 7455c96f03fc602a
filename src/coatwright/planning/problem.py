"""What a plan is made from: zones as they stand, visits, the wish, and what things cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from coatwright.coat.aims import Aim
from coatwright.coat.growth import Growth
from coatwright.coat.layers import ZoneCoat
from coatwright.errors import OutOfOrder, OutOfRange, UnfitDog, UnknownName, check_share
from coatwright.units import Day, Millimetres, Minutes, Share

STEP: Share = 0.05
"""Takes are told in steps of 5 %; nobody pulls 1 %."""

SLIGHT: Share = 0.02
"""A shortfall of 2 % of a zone's hairs cannot be seen; it has a price of its own and is not told."""

BARE_FLOOR: Share = 0.3
"""Least cover ever of a zone without undercoat. Our own assumption, adjustable; no source is known."""


@dataclass(frozen=True, slots=True)
class ZoneTask:
    """One zone of the dog, as the plan sees it.

    ``coat``         its hairs on the day of the problem
    ``growth``       how they grow
    ``aim``          what it should be on a judged day; None where nothing is asked
    ``look``         least cover that the wish asks for all the time (0 in a staged coat)
    ``welfare``      least cover ever: 0 where undercoat protects the skin, else 0.3 (see BARE_FLOOR)
    ``cap``          largest share pulled at one visit (tender zones)
    ``minutes``      this groomer's minutes to pull the whole zone
    ``broken``       share of pulled hairs that this tool breaks
    ``visible_from`` mm; hair shorter than this does not count as cover
    ``neighbours``   zones whose outline should run into this one's
    """

    key: str
    coat: ZoneCoat
    growth: Growth
    aim: Aim | None
    look: Share = 0.0
    welfare: Share = BARE_FLOOR
    cap: Share = 1.0
    minutes: Minutes = 30.0
    broken: Share = 0.0
    visible_from: Millimetres = 0.0
    neighbours: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name in ("look", "welfare", "cap", "broken"):
            check_share(getattr(self, name), f"{name} of the zone", where=self.key)
        if self.broken > 0.9:
            raise OutOfRange(
                "More than 90 % of the pulled hair breaks.", where=self.key, remedy="Change the tool."
            )
        if self.minutes < 0:
            raise OutOfRange("The minutes are negative.", where=self.key, remedy="Give 0 minutes or more.")

    @property
    def cover_lag(self) -> float:
        """Days from a pull until the hair counts as cover."""
        return self.growth.lag + self.visible_from / self.growth.speed


@dataclass(frozen=True, slots=True)
class Wish:
    """When the dog should be ready: on single ``days``, and on every day from ``every_from`` on."""

    days: tuple[Day, ...] = ()
    every_from: Day | None = None

    @property
    def rolling(self) -> bool:
        """Whether the dog is to be ready all the time, from some day on."""
        return self.every_from is not None


@dataclass(frozen=True, slots=True)
class Futures:
    """Ways in which the growth of this dog may turn out, and how far a plan must hold in the bad ones.

    ``lag``    (futures,) or (futures, zones)  days added to each zone's lag; zones as in the problem
    ``rate``   as ``lag``                      factor on each zone's rate
    ``weight`` (futures,)                      chances, adding up to 1
    ``tail``   share of worst futures that the bound looks at
    ``bound``  greatest mean shortfall of the dog over that tail (sum over zones, days and limits, shares)
    """

    lag: NDArray[np.float64]
    rate: NDArray[np.float64]
    weight: NDArray[np.float64]
    tail: Share = 0.1
    bound: float = 0.05

    def __post_init__(self) -> None:
        if not len(self.lag) == len(self.rate) == len(self.weight) > 0:
            raise OutOfRange(
                "Futures need a lag, a rate and a weight each.", remedy="Give arrays of one length."
            )
        if abs(float(self.weight.sum()) - 1.0) > 1e-6 or (self.weight < 0).any():
            raise OutOfRange("The weights of the futures do not add up to 1.", remedy="Scale them.")
        if not 0.0 < self.tail <= 1.0:
            raise OutOfRange(
                "The tail of the futures must lie above 0 and up to 1.", remedy="Give 0.1 (10 %)."
            )

    def of_zone(self, zone: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Days added to the lag and factor on the rate of one zone, (futures,) each."""
        if self.lag.ndim == 1:
            return self.lag, self.rate
        return self.lag[:, zone], self.rate[:, zone]

    @classmethod
    def prior(
        cls, count: int, rng: np.random.Generator, *, tail: Share = 0.1, bound: float = 0.05
    ) -> Futures:
        """Equally likely futures of the prior: lag sd 5 d, rate log-sd 0.35 (coat model, section 5)."""
        return cls(
            rng.normal(0.0, 5.0, count),
            np.exp(rng.normal(0.0, 0.35, count)),
            np.full(count, 1.0 / count),
            tail,
            bound,
        )


@dataclass(frozen=True, slots=True)
class Costs:
    """What the plan weighs, in minutes of work. The last three stand above all others: limits come first.

    ``minute``    a minute of pulling
    ``young``     pulling a whole zone of hair at age 0 rather than ripe (comfort; falls to 0 at age R)
    ``order``     curvature of age at the pull: the oldest hair goes first
    ``overdue``   a whole zone standing overdue for two weeks; rises with how long it is overdue
    ``cut``       a whole zone of cut hair standing for two weeks
    ``uneven``    a whole zone of difference between one take and the next, in a rolling coat
    ``step``      a millimetre by which neighbouring zones miss the step between their aims, on a judged day
    ``middle``    a whole zone at the edge of its band rather than in the middle, on the day of a staged coat
    ``change``    a whole zone of difference from the plan before
    ``slight``    a whole zone short of readiness on a wished day, for the first 2 % that nobody can see
    ``short``     a whole zone short of readiness on a wished day, beyond that
    ``overtime``  a minute beyond the limit of a visit
    ``harm``      a whole zone below the floor of welfare
    """

    minute: float = 1.0
    young: float = 60.0
    order: float = 0.5
    overdue: float = 5.0
    cut: float = 12.0
    uneven: float = 20.0
    step: float = 0.2
    middle: float = 40.0
    change: float = 5.0
    slight: float = 300.0
    short: float = 2.0e4
    overtime: float = 1.0e5
    harm: float = 1.0e6

    def with_(self, **changes: float) -> Costs:
        """A copy with some costs changed."""
        return replace(self, **changes)


Cell = tuple[str, Day]
"""A zone and a visit's day."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything a plan needs. Days are day numbers; ``visits`` must rise and not lie before ``today``.

    ``minutes`` limits each visit (dog and diary), set-up included. ``fixed`` holds cells set by hand.
    ``previous`` is the plan before this one, kept to where it costs little. ``covered`` are spans (first day, last
    day, cover) in which the owner rules out a bare dog. ``unfit`` says why the dog may not
    be stripped; a reason there ends in :class:`UnfitDog` and no plan.
    """

    today: Day
    visits: tuple[Day, ...]
    minutes: tuple[Minutes, ...]
    zones: tuple[ZoneTask, ...]
    wish: Wish
    setup: Minutes = 20.0
    fixed: Mapping[Cell, Share] = field(default_factory=dict)
    previous: Mapping[Cell, Share] = field(default_factory=dict)
    futures: Futures | None = None
    costs: Costs = field(default_factory=Costs)
    covered: tuple[tuple[Day, Day, Share], ...] = ()
    unfit: str = ""

    def __post_init__(self) -> None:
        if self.unfit:
            raise UnfitDog(
                f"No plan is made while this dog is marked unfit: {self.unfit.rstrip('. ')}.",
                remedy="See a vet first; plan again when the dog is marked fit.",
            )
        if not self.visits:
            raise OutOfRange("There is no visit to plan for.", remedy="Give at least one visit.")
        if any(b <= a for a, b in zip(self.visits, self.visits[1:], strict=False)):
            raise OutOfOrder("The visits are not in the order of their days.", remedy="Sort them, one a day.")
        if self.visits[0] < self.today:
            raise OutOfOrder("The first visit lies before today.", remedy="Plan from today on.")
        if len(self.minutes) != len(self.visits):
            raise OutOfRange("Each visit needs its minutes.", remedy="Give as many minutes as visits.")
        if not self.zones:
            raise OutOfRange(
                "There is no zone to plan for.", remedy="Give the dog at least one zone to pull."
            )
        keys = [zone.key for zone in self.zones]
        if len(set(keys)) != len(keys):
            raise OutOfRange("A zone stands twice in the problem.", remedy="Give each zone once.")
        early = [day for day in self.wish.days if day < self.today]
        if early:
            raise OutOfRange("A wished day lies before today.", remedy="Remove the day or move it.")
        for cells, name in ((self.fixed, "fixed cell"), (self.previous, "previous plan")):
            for (zone, day), share in cells.items():
                if zone not in keys:
                    raise UnknownName.of("zone", zone, keys, where=name)
                check_share(share, f"The take of {zone}", where=name)
                if name == "fixed cell" and day not in self.visits:
                    raise OutOfRange(
                        "A take is fixed on a day without a visit.",
                        where=zone,
                        remedy="Free it or add the visit.",
                    )

    @property
    def last_day(self) -> Day:
        """The last day that the plan answers for: the last visit or the last wished day."""
        return max((self.visits[-1], *self.wish.days))

    def with_(self, **changes: object) -> Problem:
        """A copy with some parts changed."""
        return replace(self, **changes)  # type: ignore[arg-type]
