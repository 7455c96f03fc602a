"""Tools over time: what each was found to break, whether its edge goes dull, and which tools a dog is kept from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from coatwright.errors import OutOfRange
from coatwright.paper.history import ToolTest, Trend, trend
from coatwright.paper.verdict import BREAKS, DOUBTFUL, LIMIT, TOO_FEW
from coatwright.salon.events import Event, stream_of
from coatwright.salon.gear import Sharpened, gear_key
from coatwright.salon.salon import keep, today_of
from coatwright.salon.store import Store
from coatwright.salon.verdicts import Trial, trial_of, trials_of
from coatwright.units import day_of

if TYPE_CHECKING:
    from coatwright.salon.fold import Salon
    from coatwright.salon.records import Dog


@dataclass(frozen=True, eq=False)
class ToolHistory:
    """All tests of one tool, oldest first, and its trend since it was last sharpened (None below two days)."""

    key: str
    name: str
    trials: tuple[Trial, ...]
    sharpened: tuple[Sharpened, ...]
    trend: Trend | None

    @property
    def last(self) -> Trial | None:
        """The newest test that has a word, of several of one day the gravest; where none has, the newest."""
        worded = [each for each in self.trials if each.verdict.word != TOO_FEW]
        if worded:
            return max(worded, key=lambda each: (each.key.day, *_gravity(each)))
        return self.trials[-1] if self.trials else None


def tools_tested(salon: Salon) -> dict[str, str]:
    """Every tool that was tested: its name as last written, by its key, in the order of the names."""
    named = {
        gear_key(paper.tool): paper.tool
        for dog in salon.dogs.values()
        for paper in dog.papers
        if paper.purpose == "tool" and paper.tool
    }
    return dict(sorted(named.items(), key=lambda item: item[0]))


def tool_history(salon: Salon, tool: str) -> ToolHistory:
    """The history of a tool over all dogs. A tool that was never tested has an empty one."""
    key = gear_key(tool)
    trials = [trial_of(dog, each) for dog in salon.dogs.values() for each in trials_of(dog, tool=tool)]
    trials.sort(key=lambda each: (each.key.day, each.key.dog, each.key.zone))
    renewed = tuple(each for each in salon.sharpened if gear_key(each.tool) == key)
    since = renewed[-1].day if renewed else date.min
    dated = [
        ToolTest(day_of(each.key.day), each.belief)
        for each in trials
        if each.key.day >= since and each.belief is not None
    ]
    days = {each.day for each in dated}
    return ToolHistory(
        key,
        trials[-1].tool if trials else tool,
        tuple(trials),
        renewed,
        trend(dated) if len(days) > 1 else None,
    )


def sharpen(store: Store, tool: str, *, day: date | None = None, note: str = "", by: str = "") -> Event:
    """Keep that a tool was sharpened: its trend begins anew on that day."""
    today = today_of(store)
    when = day or today
    if when > today:
        raise OutOfRange(
            f"{when} lies after today, {today}.", where=tool, remedy="Give the day on which it was sharpened."
        )
    record = Sharpened(tool.strip(), when, note)
    return keep(store, "tool.sharpened", stream_of("tool", gear_key(tool)), by, lambda _: record)


def kept_off(
    dog: Dog, tools: Iterable[str] | None = None, *, since: date = date.min, until: date = date.max
) -> dict[str, Trial]:
    """The tools that are not for a rolling or show coat of this dog, by their names as written; "" is the bare hand.

    Of every zone and hand the newest trial that has a word speaks; a tool is kept off while any of these breaks or is
    doubtful, and the gravest is given. A test with too few hairs, or of another zone, takes nothing back. ``tools``
    narrows it to some; all that were tested on the dog otherwise. Trials before ``since`` or after ``until`` do not
    speak.
    """
    wanted = None if tools is None else {gear_key(tool) for tool in tools}
    named = {gear_key(paper.tool): paper.tool for paper in dog.papers if paper.purpose == "tool"}
    found = {}
    for key, name in sorted(named.items()):
        if wanted is not None and key not in wanted:
            continue
        against = [
            each
            for each in standing(dog, name, since=since, until=until)
            if each.verdict.word in (BREAKS, DOUBTFUL)
        ]
        if against:
            found[name] = max(against, key=_gravity)
    return found


def broke_elsewhere(
    dog: Dog,
    others: Iterable[Dog],
    tools: Iterable[str] | None = None,
    *,
    since: date = date.min,
    until: date = date.max,
) -> dict[str, tuple[Dog, Trial]]:
    """Tools that break hair on another dog and have no word on this one: the other dog and its gravest trial.

    By name as written; bare hands are left out. Arguments as in :func:`kept_off`.
    """
    wanted = None if tools is None else {gear_key(tool) for tool in tools}
    found: dict[str, tuple[str, Dog, Trial]] = {}
    for other in others:
        if other.id == dog.id:
            continue
        for key, name in _suspects(other, since, until).items():
            if wanted is not None and key not in wanted:
                continue
            trial = kept_off(other, [name], since=since, until=until).get(name)
            if trial is None or trial.verdict.word != BREAKS:
                continue
            if key not in found or _gravity(trial) > _gravity(found[key][2]):
                found[key] = name, other, trial
    return {
        name: (other, trial)
        for _, (name, other, trial) in sorted(found.items())
        if not standing(dog, name, since=since, until=until)
    }


def standing(dog: Dog, tool: str, *, since: date = date.min, until: date = date.max) -> tuple[Trial, ...]:
    """What stands of a tool on a dog: of every zone and hand the newest trial that has a word, oldest first."""
    found: dict[tuple[str, str], Trial] = {}
    for key in reversed(trials_of(dog, tool=tool)):
        place = key.zone, key.groomer
        if place in found or not since <= key.day <= until:
            continue
        trial = trial_of(dog, key)
        if trial.verdict.word != TOO_FEW:
            found[place] = trial
    return tuple(reversed(found.values()))


def _suspects(dog: Dog, since: date, until: date) -> dict[str, str]:
    """Tools that may break hair on a dog, by key, seen from the plain counts alone, which spares hearing the rest."""
    found = {}
    for paper in dog.papers:
        if paper.purpose != "tool" or not gear_key(paper.tool) or not since <= paper.day <= until:
            continue
        if not paper.judged or paper.broken > 0.5 * LIMIT * paper.judged:
            found[gear_key(paper.tool)] = paper.tool
    return found


def _gravity(trial: Trial) -> tuple[bool, float, date]:
    """Gravest last: breaks before doubtful, then the surer, then the newer."""
    said = trial.verdict
    return said.word == BREAKS, said.over or 0.0, trial.key.day
