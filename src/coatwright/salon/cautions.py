"""The cautions: what can hurt the dog or the hands, and when to say so. Words for every screen and sheet.

Common practice in the trade unless a line says otherwise; none of it takes the place of a vet, of the law
where the dog lives, or of a show's rules.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from coatwright.units import Share, day_of

if TYPE_CHECKING:
    from coatwright.salon.chances import Alarm
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog
    from coatwright.salon.verdicts import Trial

LEVELS = ("stop", "caution", "note")
"""How grave a caution is: stop work, take care, or know."""

BARE_COVER: Share = 0.5
"""Below this cover skin shows through and can burn or chill. A rolling coat is held at 0.5 to 0.6 (common
practice), so that it needs no such caution."""

MUCH: Share = 0.2
"""A dog is bare, not only thin in places, when zones of this share of its whole work are (our assumption)."""

TOOL_DAYS = 365
"""A paper test older than this no longer speaks of a tool: it was sharpened or worn since (our assumption)."""

TABLE_MINUTES = 180.0
"""A dog is not kept on the table for more than 3 h a day (common practice), min."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: ``key`` for programs, ``level`` of :data:`LEVELS`, a short ``title`` and the ``text``."""

    key: str
    level: str
    title: str
    text: str


STOP_LIST: tuple[str, ...] = (
    "the skin turns red, or shows pinpoints of blood",
    "the dog flinches, cries, snaps or pants",
    "a hair needs force, or comes with a soft white root",
)
"""Signs at which work stops at once, each to be read after "Stop when"."""

AFTER_STOP = "Leave the zone for today. If the sign does not pass, or you are not sure, ask a vet."

VET = Caution(
    "vet",
    "stop",
    "A vet first",
    "Leave skin alone that is irritated, infected, sunburnt or has parasites, hair loss without a known cause, "
    "and any dog that is ill, newly vaccinated or in distress. Hair that is not back three to four months after "
    "it was taken: see a vet.",
)
SCISSORS = Caution(
    "scissors",
    "caution",
    "Feet",
    "Feet are scissored, not pulled: blades flat, round the rim only, never over a pad.",
)
DUST = Caution(
    "dust",
    "note",
    "Dust",
    "Chalk and hair dust go into the lungs: wear a mask, keep air moving, wipe down afterwards.",
)
HANDS = Caution(
    "hands",
    "note",
    "Hands",
    "Rest the hands before they ache: short breaks, changes of grip, and a limit for the day "
    "(3 to 5 hours of pulling is usual).",
)
LAW = Caution(
    "law",
    "note",
    "Law",
    "The animal-welfare law of the place where you work comes before anything planned here.",
)
SHOW_RULES = Caution(
    "show_rules",
    "note",
    "Show rules",
    "The rules of the show decide. Many allow nothing in the coat on the day: brush out chalk and every other "
    "preparation, and use nothing that alters colour, texture or body.",
)
ESTIMATE = Caution(
    "estimate",
    "note",
    "Estimates",
    "Lengths, covers and ready days are estimates that can miss by weeks in a coat not yet known. "
    "Measure again at each visit and plan anew.",
)


def general_cautions() -> tuple[Caution, ...]:
    """Those that hold for any work on any dog."""
    return (VET, SCISSORS, DUST, HANDS, LAW, ESTIMATE)


def visit_cautions(plan: DogPlan, day: date, *, others: Iterable[Dog] = ()) -> tuple[Caution, ...]:
    """Those that belong to one planned visit, gravest first. ``others`` as in :func:`tool_cautions`."""
    return _ordered(_of_days(plan, [day], others))


def plan_cautions(plan: DogPlan) -> tuple[Caution, ...]:
    """Those that belong to any visit of a plan, gravest first."""
    return _ordered(_of_days(plan, plan.visits))


def unfit_cautions(dog: Dog) -> tuple[Caution, ...]:
    """What to say in place of a plan while a dog is marked unfit; nothing for a fit dog."""
    if not dog.unfit:
        return ()
    text = (
        f"{dog.name} is marked unfit: {dog.unfit.rstrip('.')}. Nothing is planned and nothing should be pulled "
        "until a vet has seen the dog and the mark is taken away."
    )
    return (Caution("unfit", "stop", "Unfit", text), VET)


def alarm_cautions(raised: Iterable[Alarm]) -> tuple[Caution, ...]:
    """What the coat should have done but did not, gravest first: by the last readings, and zones that thin.

    Hair that has not come back three to four months after it was taken is abnormal and a matter for a vet (Univ. of
    Minnesota, Small Animal Dermatology, ch. 1.13).
    """
    from coatwright.printing.words import day_text

    found, alarms = [], list(raised)
    read = next((day_text(alarm.day) for alarm in alarms if alarm.kind != "thin"), "")
    nothing = [alarm.zone for alarm in alarms if alarm.kind == "nothing"]
    if nothing:
        text = (
            f"{_capital(named(nothing))}: bare by the reading of {read}, fourteen weeks and more after much of the "
            "hair was taken. Pull nothing there. Hair that is not back three to four months after it was taken: see "
            "a vet."
        )
        found.append(Caution("nothing_back", "stop", "Nothing has come back", text))
    slow = list(dict.fromkeys(alarm.zone for alarm in alarms if alarm.kind == "slow"))
    whole = any(alarm.kind == "slow dog" for alarm in alarms)
    if slow or whole:
        where = f"{_capital(named(slow))}: shorter" if slow else "The zones together: shorter"
        more = "; the zones read that day together, too" if slow and whole else ""
        text = (
            f"{where} on {read} than nearly all that this coat could do by then{more}. Read again at the next "
            "visit and take less until then. If it stays slow, or the skin or the dog is not as it should be: a "
            "vet first."
        )
        found.append(Caution("slow", "caution", "Slow regrowth", text))
    thin = [alarm.zone for alarm in alarms if alarm.kind == "thin"]
    if thin:
        text = (
            f"{_capital(named(thin))}: by now more likely than not thinner than the plan allows. Look before you "
            "pull; where skin shows, leave the zone alone."
        )
        found.append(Caution("thinning", "caution", "Thinning", text))
    return tuple(found)


def tool_cautions(
    dog: Dog, today: date, tools: Iterable[str] | None = None, *, others: Iterable[Dog] = ()
) -> tuple[Caution, ...]:
    """Tools and hands that are not for a rolling coat nor for a show dog, by what stands of paper tests on this dog.

    ``tools`` narrows it to those that a visit names; all that were tested on the dog otherwise. A broken hair leaves
    a stub of its age in the coat (common practice: such a tool is not used where hairs must come out whole). A tool
    that broke hair on one of the ``others`` and has no word on this dog is a note.
    """
    from coatwright.paper.verdict import BREAKS, RULE
    from coatwright.salon.tools import broke_elsewhere, kept_off

    wanted, since = None if tools is None else list(tools), today - timedelta(days=TOOL_DAYS)
    found = []
    off = kept_off(dog, since=since, until=today)
    instead = (
        "Use a tool that was found sound." if "" in off else "Use fingers, or a tool that was found sound."
    )
    for name, trial in kept_off(dog, wanted, since=since, until=today).items():
        said, test = trial.verdict, _test_of(trial)
        share = _share_of(trial)
        if said.word == BREAKS and name:
            text = f"{_capital(name)}:{share} in the {test}. {RULE} {instead}"
            found.append(Caution("tool_breaks", "caution", "A tool that breaks hair", text))
        elif said.word == BREAKS:
            text = (
                f"The bare hand:{share} in the {test}. {RULE} Take fewer hairs at a time, the way they grow, and "
                "only what comes willingly; then test again."
            )
            found.append(Caution("tool_breaks", "caution", "A hand that breaks hair", text))
        else:
            who = _capital(name) if name else "The bare hand"
            title = "A tool not yet cleared" if name else "A hand not yet cleared"
            text = f"{who}: the {test} left open whether it breaks hair. {said.rule}"
            found.append(Caution("tool_doubtful", "note", title, text))
    for name, (other, trial) in broke_elsewhere(dog, others, wanted, since=since, until=today).items():
        text = (
            f"{_capital(name)}:{_share_of(trial)} on {other.name}, in the {_test_of(trial)}. Try it on this coat "
            "before a rolling coat or a show dog relies on it."
        )
        found.append(Caution("tool_elsewhere", "note", "A tool that broke hair on another dog", text))
    return tuple(sorted(found, key=lambda caution: LEVELS.index(caution.level)))


def planned_tool_cautions(plan: DogPlan, *, others: Iterable[Dog] = ()) -> tuple[Caution, ...]:
    """Those of :func:`tool_cautions` where a plan is for a rolling coat or a dog that is to be shown."""
    shown = any(show.day >= plan.today for show in plan.dog.wish.shows)
    if not shown and plan.option.approach != "rolling":
        return ()
    return tool_cautions(plan.dog, plan.today, others=others)


def _test_of(trial: Trial) -> str:
    """Which test, in words."""
    from coatwright.printing.words import day_text

    return f"paper test on the {named([trial.key.zone])} on {day_text(trial.key.day)}"


def _share_of(trial: Trial) -> str:
    """How many hairs broke, in words with a space before them."""
    share = trial.verdict.share
    return " it broke hair" if share is None else f" about {100 * share:.0f} of 100 hairs broke"


def named(keys: Iterable[str]) -> str:
    """Zones in working order as a list in words."""
    from coatwright.patterns import zones

    wanted = set(keys)
    words = [zone.name.lower() for key, zone in zones().items() if key in wanted]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def bare_zones(plan: DogPlan, day: date) -> tuple[str, ...]:
    """Keys of the zones whose cover lies below :data:`BARE_COVER` on the evening of a day."""
    from coatwright.coat.measures import cover

    whole = plan.option.plan
    return tuple(
        zone.key
        for zone, epochs in zip(whole.problem.zones, whole.epochs, strict=True)
        if cover(epochs.at(day_of(day)), day_of(day), zone.growth) < BARE_COVER - 1e-9
    )


def young_zones(plan: DogPlan, day: date) -> tuple[str, ...]:
    """Keys of the zones where a visit pulls at hair younger than its age of ripeness."""
    whole, at = plan.option.plan, day_of(day)
    found = []
    for zone, epochs in zip(whole.problem.zones, whole.epochs, strict=True):
        for start, pulled in zip(epochs.starts, epochs.pulls, strict=True):
            if start == at and pulled and any(at - x.born < zone.growth.ripe for x, _ in pulled.renewed):
                found.append(zone.key)
    return tuple(found)


def _of_days(plan: DogPlan, days: Iterable[date], others: Iterable[Dog] = ()) -> list[Caution]:
    from coatwright.patterns import zones
    from coatwright.salon.coats import is_double
    from coatwright.salon.known import alarms_of

    chosen = list(days)
    table = zones()
    taken: dict[str, Share] = {}
    bare: dict[str, None] = {}
    young: dict[str, None] = {}
    for day in chosen:
        for key, share in plan.takes(day).items():
            taken[key] = max(share, taken.get(key, 0.0))
        bare.update(dict.fromkeys(bare_zones(plan, day)))
        young.update(dict.fromkeys(young_zones(plan, day)))

    def names(keys: Iterable[str]) -> str:
        """The zones in working order, as a list in words; all of them by one word."""
        ordered = [key for key in table if key in set(keys)]
        if len(ordered) > 3 and len(ordered) == len(plan.case.zones):
            return "the whole coat"
        return named(ordered)

    found = [*alarm_cautions(alarms_of(plan)), VET, SCISSORS]
    tender = [key for key in taken if table[key].tender]
    if tender:
        text = (
            f"{_capital(names(tender))}: small takes, never above the cap, the skin held taut, a few hairs at a "
            "time. Less than planned is always right here."
        )
        found.append(Caution("tender", "caution", "Tender skin", text))
    if bare:
        much = sum(table[key].minutes for key in bare) >= MUCH * sum(row.minutes for row in table.values())
        care = "Shade in the sun and a light jacket in cold and wet" if much else "Keep it out of strong sun"
        text = f"{_capital(names(bare))}: skin shows, and bare skin burns and chills. {care} until it is covered."
        found.append(Caution("bare", "caution", "Bare skin", text))
    if young:
        text = (
            f"Some hair in {names(young)} is younger than usual for pulling: it holds, hurts and breaks. "
            "Take what comes willingly and leave the rest."
        )
        found.append(Caution("young", "caution", "Young hair", text))
    longest = max((plan.minutes(day) for day in chosen), default=0.0)
    if longest > TABLE_MINUTES:
        text = (
            f"This is {longest:.0f} minutes of work; a dog should not stand on the table for more than 3 hours "
            "a day. Take breaks, or part it over two days."
        )
        found.append(Caution("table", "caution", "Long on the table", text))
    if not is_double(plan.dog):
        text = (
            f"Without an undercoat, no zone is planned below {100 * plan.dog.welfare_cover:.0f} % cover. That floor "
            "is this program's own assumption, not a published figure: stay above it where you can."
        )
        found.append(Caution("floor", "note", "Least cover", text))
    found += planned_tool_cautions(plan, others=others)
    found += [DUST, HANDS]
    if any(show.day >= plan.today for show in plan.dog.wish.shows):
        found.append(SHOW_RULES)
    found += [LAW, ESTIMATE]
    return found


def _ordered(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    return tuple(sorted(cautions, key=lambda caution: LEVELS.index(caution.level)))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
