"""What a dog's records have taught: draws of its growth and its coat, worked out once and kept.

Everything here can be worked out again from the records and comes out the same, so what is kept in a folder beside
the records may be deleted at any time. A record that comes late or is corrected makes the dog be learnt again from
the day on which it counts: kept draws of earlier days still hold, since each knows exactly which records it is of.
"""

from __future__ import annotations

import hashlib
import os
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from coatwright.salon.evidence import evidence_of, groomers_of, is_measured
from coatwright.salon.records import Dog
from coatwright.units import Day, day_of

if TYPE_CHECKING:
    from coatwright.coat.growth import Floats
    from coatwright.learning.evidence import DogEvidence
    from coatwright.learning.outlook import Coats
    from coatwright.learning.priors import Prior
    from coatwright.learning.state import State
    from coatwright.salon.store import Store

SEED = 1
TELLING = 0.6
"""Growth is told as known once its spread is at most this part of what it was beforehand."""
FOLDER = "learnt"
"""Folder beside the records in which draws are kept; it may be deleted."""
KEPT_DAYS = 3
"""Days of a dog of which draws are kept: the last ones."""
HELD = 10
"""Dogs whose draws are held in memory; those of others are read from the folder, or learnt again without one."""
DRAWN = 4
"""Dogs whose coats are held in memory; those of others are drawn again."""
KNOWN = 400
"""Dogs and days of which it is remembered what is known, but for the draws."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """A dog's coat as it is known on the evening of a day.

    ``prior`` is what was believed before its first record, its kind and groomers in it; ``measured`` says whether
    anything but takes judged by eye was recorded since. ``draw`` gives the coats that this dog may have: they are
    held for the dogs asked for last, and come out the same when they are drawn again. ``margins`` are those with
    which plans of this dog were found to be surest, by cadence and wish.
    """

    dog: Dog
    day: date
    evidence: DogEvidence
    prior: Prior
    measured: bool
    draw: Callable[[], Coats] = field(repr=False, compare=False)
    margins: dict[object, dict[str, float]] = field(default_factory=dict)

    @property
    def coats(self) -> Coats:
        """The coat as it may stand, in draws."""
        return self.draw()

    @property
    def zones(self) -> tuple[str, ...]:
        """Keys of the zones, in the order of the draws."""
        return tuple(zone.key for zone in self.evidence.zones)

    @property
    def tells_growth(self) -> bool:
        """Whether the dog's rate of growth is known clearly better than beforehand."""
        return self.measured and self.left("rate") <= TELLING

    def left(self, trait: str) -> float:
        """Spread of a trait over the whole dog, as a part of what it was beforehand: 1 is no more known."""
        from coatwright.learning.priors import TRAITS

        number = TRAITS.index(trait)
        mean = self.coats.traits[:, :, number].mean(axis=1)
        count = self.coats.traits.shape[1]
        before = np.hypot(self.prior.dog_sd[number], self.prior.zone_sd[number] / np.sqrt(count))
        return float(mean.std() / before)

    @property
    def groomers(self) -> tuple[str, ...]:
        """Names of the groomers, in the order of the habits."""
        return groomers_of(self.dog)


class Shelf:
    """Draws that are kept: in memory, and in ``folder`` where one is given. Safe to share between threads."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._held: OrderedDict[tuple[str, str], State] = OrderedDict()
        self._coats: OrderedDict[Hashable, Coats] = OrderedDict()
        self._known: OrderedDict[Hashable, Learnt] = OrderedDict()

    def get(self, dog: str, mark: str) -> State | None:
        """Draws of a dog made of exactly the records with this mark."""
        with self._lock:
            if (dog, mark) in self._held:
                self._held.move_to_end((dog, mark))
                return self._held[dog, mark]
        path = self._path(dog, mark)
        if path is None or not path.exists():
            return None
        try:
            state = _read(path)
        except (OSError, ValueError, KeyError):
            return None  # half written or of another version: it is worked out again
        self._hold(dog, mark, state)
        return state

    def put(self, dog: str, mark: str, state: State) -> None:
        """Keep draws; of each dog the last few."""
        self._hold(dog, mark, state)
        path = self._path(dog, mark)
        if path is None:
            return
        path.parent.mkdir(parents=True, exist_ok=True)
        _write(path, state)
        others = sorted(path.parent.glob("*.npz"), key=lambda each: each.stat().st_mtime, reverse=True)
        for old in others[KEPT_DAYS:]:
            old.unlink(missing_ok=True)

    def known(self, key: Hashable) -> Learnt | None:
        """What was worked out before from the same records."""
        with self._lock:
            return self._known.get(key)

    def know(self, key: Hashable, learnt: Learnt) -> None:
        """Keep what was worked out, in memory."""
        self._remember(self._known, key, learnt, KNOWN)

    def coats(self, key: Hashable, make: Callable[[], Coats]) -> Coats:
        """The coats under a key; made again where they were let go."""
        with self._lock:
            found = self._coats.get(key)
            if found is not None:
                self._coats.move_to_end(key)
                return found
        made = make()
        self._remember(self._coats, key, made, DRAWN)
        return made

    def _hold(self, dog: str, mark: str, state: State) -> None:
        self._remember(self._held, (dog, mark), state, HELD)

    def _remember(self, held: OrderedDict[Any, Any], key: Hashable, what: object, most: int) -> None:
        """Keep something; what was kept longest ago goes first."""
        with self._lock:
            held[key] = what
            held.move_to_end(key)
            while len(held) > most:
                held.popitem(last=False)

    def _path(self, dog: str, mark: str) -> Path | None:
        if self.folder is None:
            return None
        return self.folder / hashlib.sha256(dog.encode()).hexdigest()[:16] / f"{mark}.npz"


def shelf_of(store: Store) -> Shelf:
    """The shelf of a salon: in a folder beside its file; in memory where the records are in no file."""
    file = store.url.database if store.url.get_backend_name() == "sqlite" else None
    if not file or file == ":memory:" or file.startswith("file:"):
        return Shelf()
    return Shelf(Path(file).parent / FOLDER)


SHELF = Shelf()
"""Where draws are kept unless somebody gives another place."""


def learn_dog(
    dog: Dog,
    day: date,
    *,
    others: Iterable[Dog] = (),
    shelf: Shelf = SHELF,
    draws: int | None = None,
) -> Learnt | None:
    """What is known of a dog's coat on the evening of ``day``; None where it was never assessed.

    ``others`` are the salon's other dogs: those of its pattern say what its kind is like, those of its groomers what
    their habits are, by what was measured before ``day``. Dogs of which nothing was measured say nothing.
    """
    alone = _alone(dog, day, shelf, draws)
    if alone is None:
        return None
    evidence, state, _ = alone
    prior = prior_of(dog, day - timedelta(days=1), others, shelf=shelf, draws=draws)
    key = (
        dog.id,
        day,
        repr((_mark(evidence, state.day, len(state)), *(a.tobytes() for a in _numbers(prior)))),
    )
    known = shelf.known(key)
    if known is None:

        def draw() -> Coats:
            return shelf.coats(key, lambda: _coats_of(dog, day, prior, shelf, draws))

        draw()  # here, where somebody waits anyhow
        known = Learnt(dog, day, evidence, prior, is_measured(dog, day), draw)
        shelf.know(key, known)
    return replace(known, dog=dog)


def _coats_of(dog: Dog, day: date, prior: Prior, shelf: Shelf, draws: int | None) -> Coats:
    """The draws of a dog's coat under a prior, from what is kept of it."""
    from coatwright.learning.outlook import stand
    from coatwright.learning.update import renewed

    alone = _alone(dog, day, shelf, draws)
    assert alone is not None
    evidence, state, plain = alone
    return stand(evidence, renewed(state, evidence, plain, prior, seed=SEED), day_of(day))


def prior_of(
    dog: Dog, day: date, others: Iterable[Dog], *, shelf: Shelf = SHELF, draws: int | None = None
) -> Prior:
    """What is believed of a dog before its own records: what others of its kind and of its groomers say."""
    from coatwright.learning.pooling import habit_of, kind_of, said_of_dog, said_of_habits
    from coatwright.learning.priors import Prior

    people = groomers_of(dog)
    kin, habits = [], {name: [] for name in people}  # type: ignore[var-annotated]
    for other in others:
        if other.id == dog.id or not is_measured(other, day):
            continue
        same_kind = other.pattern.key == dog.pattern.key
        shared = [name for name in groomers_of(other) if name and name in habits]
        if not same_kind and not shared:
            continue
        alone = _alone(other, day, shelf, draws)
        if alone is None:
            continue
        _, state, plain = alone
        if same_kind:
            kin.append(said_of_dog(state, plain))
        said = said_of_habits(state, plain)
        for name in shared:
            number = groomers_of(other).index(name)
            habits[name].append((float(said.value[number]), float(said.var[number])))
    told = [habit_of(habits[name]) for name in people]
    return Prior.of(
        kind_of(kin), bias_mean=np.array([m for m, _ in told]), bias_sd=np.array([s for _, s in told])
    )


def _alone(dog: Dog, day: date, shelf: Shelf, draws: int | None) -> tuple[DogEvidence, State, Prior] | None:
    """A dog's draws from the prior of any dog, from kept ones on as far as these still hold."""
    from coatwright.learning.priors import Prior
    from coatwright.learning.update import DRAWS, learn

    evidence = evidence_of(dog, day)
    if not evidence.zones:
        return None
    plain, count = Prior.of(), draws or DRAWS
    days = evidence.days()
    after = None
    for day_before in reversed(days):
        after = shelf.get(dog.id, _mark(evidence, day_before, count))
        if after is not None:
            break
    if after is not None and after.day == days[-1]:
        return evidence, after, plain
    last = set(days[-KEPT_DAYS:])

    def seen(state: State) -> None:
        if state.day in last:
            shelf.put(dog.id, _mark(evidence, state.day, count), state)

    state = learn(evidence, prior=plain, draws=count, seed=SEED, after=after, seen=seen)
    return evidence, state, plain


def _numbers(prior: Prior) -> tuple[Floats, ...]:
    return tuple(np.asarray(part) for part in (prior.mean, prior.dog_sd, prior.bias_mean, prior.bias_sd))


def _mark(evidence: DogEvidence, day: Day, draws: int) -> str:
    """A short text that differs whenever a record up to ``day`` does."""
    upto = [
        replace(zone, records=tuple(each for each in zone.records if each.day <= day))
        for zone in evidence.zones
        if zone.records[0].day <= day
    ]
    text = repr((VERSION, draws, evidence.groomers, [zone.key for zone in evidence.zones], upto))
    return hashlib.sha256(text.encode()).hexdigest()[:24]


VERSION = 2
"""Of the way in which is learnt: raised whenever the same records would give other draws."""


def _write(path: Path, state: State) -> None:
    """All or nothing: a file that is there is whole."""
    beside = path.with_suffix(f".{os.getpid()}.{threading.get_ident()}.part")
    with beside.open("wb") as file:
        np.savez(
            file, day=state.day, dog=state.dog, bias=state.bias, zones=state.zones, takes=state.takes,
            starts=state.starts, weight=state.weight,
        )  # fmt: skip
    beside.replace(path)


def _read(path: Path) -> State:
    from coatwright.learning.state import State

    with np.load(path, allow_pickle=False) as kept:
        return State(
            int(kept["day"]), kept["dog"], kept["bias"], kept["zones"], kept["takes"], kept["starts"],
            kept["weight"],
        )  # fmt: skip
