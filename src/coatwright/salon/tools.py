"""Tools over time: what each was found to break, whether its edge goes dull, and which tools a dog is kept from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from coatwright.errors import OutOfRange
from coatwright.paper.history import ToolTest, Trend, trend
from coatwright.paper.verdict import BREAKS, DOUBTFUL
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
        """The newest test."""
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


def standing(dog: Dog, tool: str) -> Trial | None:
    """The newest trial of a tool on this dog; None where it was not tested on it."""
    keys = trials_of(dog, tool=tool)
    return trial_of(dog, keys[-1]) if keys else None


def kept_off(
    dog: Dog, tools: Iterable[str] | None = None, *, since: date = date.min, until: date = date.max
) -> dict[str, Trial]:
    """The tools that are not for a rolling or show coat of this dog: those whose newest trial breaks or is doubtful.

    ``tools`` narrows it to some; all that were tested on the dog otherwise. Names as written, each with the trial;
    trials before ``since`` or after ``until`` do not speak.
    """
    named = {
        gear_key(paper.tool): paper.tool for paper in dog.papers if paper.purpose == "tool" and paper.tool
    }
    wanted = None if tools is None else {gear_key(tool) for tool in tools}
    found = {}
    for key, name in sorted(named.items()):
        if wanted is not None and key not in wanted:
            continue
        keys = [each for each in trials_of(dog, tool=name) if since <= each.day <= until]
        trial = trial_of(dog, keys[-1]) if keys else None
        if trial is not None and trial.verdict.word in (BREAKS, DOUBTFUL):
            found[name] = trial
    return found
