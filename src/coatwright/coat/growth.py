"""How one hair grows: nothing until it breaks the skin, then evenly, then it rests.

Symbols (coat model, section 1):

    L  lag     d      from the pull until the hair breaks the skin
    r  rate    mm/d   growth of a growing hair
    E  end     mm     length at which the hair rests
    c  spread  -      coefficient of variation of the lengths within one layer
    R  ripe    d      age from which a hair comes out willingly
    h  loss    1/d    hazard with which a blown hair is lost on its own
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from coatwright.errors import OutOfRange
from coatwright.units import Days, Millimetres

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Growth:
    """Growth of the hairs of one zone of one dog.

    The defaults are the starting values of the prior:

    - ``lag`` 28 d: common practice, no measurement in dogs is known; 64 to 129 d by site in man
      (Myers & Hamilton 1951, Ann NY Acad Sci 53:562-568).
    - ``rate`` 0.45 mm/d: textbook range 0.34-0.40 mm/d (Muller & Kirk, ch. 1, from memory), show
      practice implies 0.25-0.9. Never the 0.065 mm/d of Schuldenfrei & Pieper (2020, Vet Dermatol,
      doi 10.1111/vde.12836), which is the mean over all hairs of a patch, most of them resting.
    - ``end`` 75 mm: blown jackets of 3 to 4 inches, common practice.
    - ``spread`` 0.10: assumption.
    - ``ripe`` 56 d: common practice.
    - ``loss`` 0 per day once blown; ``hold`` 60 d of rest before a hair counts as blown: assumptions.

    ``season`` multiplies the rate. It is 1 by default: regrowth after clipping showed no effect of the
    season in dogs kept indoors (Diaz et al. 2004, Vet Dermatol 15:25-30, P = 0.12) and the share of
    resting hairs none in Schnauzers (Favarato & Conceicao 2008, Vet Dermatol 19:15-20); many groomers
    report slower coats in winter (common practice, no source), hence a parameter.
    """

    lag: Days = 28.0
    rate: Millimetres = 0.45
    end: Millimetres = 75.0
    spread: float = 0.10
    ripe: Days = 56.0
    loss: float = 0.0
    hold: Days = 60.0
    season: float = 1.0

    def __post_init__(self) -> None:
        limits = {
            "lag": (0.0, 365.0, "d"),
            "rate": (0.01, 5.0, "mm/d"),
            "end": (1.0, 500.0, "mm"),
            "spread": (0.0, 0.5, ""),
            "ripe": (0.0, 365.0, "d"),
            "loss": (0.0, 0.5, "per day"),
            "hold": (0.0, 1000.0, "d"),
            "season": (0.2, 3.0, ""),
        }
        for name, (low, high, unit) in limits.items():
            value = getattr(self, name)
            if not low <= value <= high:
                raise OutOfRange(
                    f"growth.{name} is {value:g} {unit}".rstrip() + ".",
                    remedy=f"It must lie between {low:g} and {high:g}.",
                )

    @property
    def speed(self) -> Millimetres:
        """Rate with the season in it, mm/d."""
        return self.rate * self.season

    @property
    def full_age(self) -> Days:
        """Age at which a hair reaches its end length, d."""
        return self.lag + self.end / self.speed

    @property
    def blown_age(self) -> Days:
        """Age from which a hair is blown, d."""
        return self.full_age + self.hold

    def with_(self, **changes: float) -> Growth:
        """A copy with some values changed."""
        return replace(self, **changes)


def length(age: ArrayLike, growth: Growth, removed: ArrayLike = 0.0) -> Floats:
    """Mean length (mm) of hairs ``age`` days after their pull; any shape.

    ``removed`` (mm) is what scissors, clipper or a break took off: such a hair keeps its age and goes on
    growing. Formula: coat model, section 1, ``l(a) = 0`` while ``a < L``, then ``min(r (a - L), E)``.
    """
    grown = np.clip(growth.speed * (np.asarray(age, dtype=float) - growth.lag), 0.0, growth.end)
    left: Floats = np.maximum(grown - np.asarray(removed, dtype=float), 0.0)
    return left


def emerged(age: ArrayLike, growth: Growth) -> NDArray[np.bool_]:
    """Whether hairs of this age (d) have broken through: at age L, that day included."""
    return np.asarray(age, dtype=float) >= growth.lag - 1e-9


def share_longer(threshold: ArrayLike, mean: ArrayLike, spread: float) -> Floats:
    """Share of a layer's hairs longer than ``threshold`` (mm), broadcast over ``mean`` (mm).

    Lengths are normal around the mean with coefficient of variation ``spread``, cut at 0. Every hair,
    a just-emerged one of length 0 included, counts as longer than a threshold below 0.
    """
    mean_ = np.asarray(mean, dtype=float)
    threshold_ = np.asarray(threshold, dtype=float)
    sd = np.maximum(spread * mean_, 1e-12)
    return np.where(threshold_ < 0.0, 1.0, ndtr((mean_ - threshold_) / sd) * (mean_ > 0.0))


def blown(age: ArrayLike, growth: Growth) -> NDArray[np.bool_]:
    """Whether hairs of this age (d) have rested so long that they are being lost on their own."""
    return np.asarray(age, dtype=float) >= growth.blown_age


def survival(age_from: ArrayLike, age_to: ArrayLike, growth: Growth) -> Floats:
    """Share of hairs standing at ``age_from`` (d) that still stand at ``age_to`` (d).

    A blown hair is lost with hazard ``h`` per day: ``(1 - h) ** (days spent blown)``.
    """
    start = np.maximum(np.asarray(age_from, dtype=float), growth.blown_age)
    days = np.maximum(np.asarray(age_to, dtype=float) - start, 0.0)
    survived: Floats = np.power(1.0 - growth.loss, days)
    return survived
