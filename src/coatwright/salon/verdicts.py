"""What a tool's sheets say: the verdict with its witnesses, two tools beside each other, how many more hairs.

A *trial* is every sheet of one tool, in one hand, on one zone of one dog, of one day. Its hairs are heard by the ends
and, against a control, by the lengths: a sheet pulled by bare fingers from the same zone, or what the coat model says
the take brought out (:mod:`coatwright.salon.hearing`). Nothing here is kept: all is worked out again from the
records, and the same records give the same answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from coatwright.errors import OutOfRange, UnknownName
from coatwright.paper.compare import Difference, difference, difference_of_ends
from coatwright.paper.report import FibreReport, HauteurBarbe, fibre_report, hauteur_barbe
from coatwright.paper.settle import Settling, more_for_ends, more_hairs
from coatwright.paper.share import ShareBelief
from coatwright.paper.verdict import (
    BREAKS,
    DOUBTFUL,
    FEWEST,
    TOO_FEW,
    Verdict,
    believed,
    by_lengths_alone,
    rule_of,
    verdict,
    word_for,
)
from coatwright.paper.witness_ends import Misjudged
from coatwright.paper.witnesses import Testimony
from coatwright.salon.gear import gear_key
from coatwright.salon.hearing import LAYERS, Heard, hear_sheets
from coatwright.salon.history import PaperCount

if TYPE_CHECKING:
    from coatwright.salon.fold import Salon
    from coatwright.salon.records import Dog

SURE = 0.95
MODEL_ALONE = (
    "Only the coat model speaks against it, and the model may be wrong about this coat: judge the ends too, or pull "
    "a sheet of the same zone with bare fingers."
)
NO_MORE_HAIRS = "More hairs do not settle this: "


@dataclass(frozen=True, slots=True)
class TrialKey:
    """What makes sheets one trial."""

    dog: str
    zone: str
    tool: str
    groomer: str
    day: date


@dataclass(frozen=True, eq=False)
class Trial:
    """One trial and what it says.

    ``tool`` as it was written, ``papers`` its sheets; ``heard`` holds the witnesses and what they rest on:
    ``heard.control`` is ``"fingers"`` (``heard.control_hairs`` of them), ``"layers"`` or "" where the lengths could
    not be heard; ``heard.known`` says what the misjudgement of ends was found from: ``"own"`` hairs of known state of
    this dog, ``"drawn"`` photographs, ``"lens"`` for a count by hand, which is taken as free of error, "" where no
    end was judged. ``report`` and ``wool`` are of the whole hairs that were measured.
    """

    key: TrialKey
    tool: str
    papers: tuple[PaperCount, ...]
    heard: Heard
    verdict: Verdict
    report: FibreReport | None
    wool: HauteurBarbe | None

    @cached_property
    def settling(self) -> Settling:
        """How many more hairs would settle it."""
        return _settling(self.papers, self.heard, self.verdict)

    @property
    def whole(self) -> int:
        """Hairs judged whole."""
        return sum(paper.whole for paper in self.papers)

    @property
    def broken(self) -> int:
        """Hairs judged broken."""
        return sum(paper.broken for paper in self.papers)

    @property
    def unjudged(self) -> int:
        """Hairs that were measured and whose ends do not tell."""
        return sum(len(paper.open_mm) for paper in self.papers)

    @property
    def testimony(self) -> Testimony | None:
        """The witnesses, each alone and both together; None where nothing was heard."""
        return self.heard.testimony

    @property
    def belief(self) -> ShareBelief | None:
        """What is believed of the share that breaks, and the word rests on; None where nothing was heard."""
        return None if self.testimony is None else believed(self.testimony)


def trials_of(dog: Dog, *, tool: str | None = None, zone: str = "") -> tuple[TrialKey, ...]:
    """The trials on a dog, of one tool or of all, oldest first."""
    found = {
        key_of(dog, paper): None
        for paper in dog.papers
        if paper.purpose == "tool"
        and (not zone or paper.zone == zone)
        and (tool is None or gear_key(paper.tool) == gear_key(tool))
    }
    return tuple(sorted(found, key=lambda key: (key.day, key.zone, key.tool, key.groomer)))


def key_of(dog: Dog, paper: PaperCount) -> TrialKey:
    """The trial that a sheet belongs to."""
    return TrialKey(dog.id, paper.zone, gear_key(paper.tool), gear_key(paper.groomer), paper.day)


def trial_of(dog: Dog, key: TrialKey, extra: Iterable[PaperCount] = ()) -> Trial:
    """What a trial on a dog says; ``extra`` are sheets not kept yet, such as a draft's record.

    Raises :class:`~coatwright.errors.UnknownName` when there is no such trial.
    """
    added = tuple(extra)
    return _heard(dog, key, added) if added else _trial(_Same(dog), key)


def verdict_of(salon: Salon, dog: str, paper: str) -> Trial:
    """The trial that a kept sheet belongs to, by the ids of the dog and of the sheet."""
    from coatwright.salon.salon import dog_of

    known = dog_of(salon, dog)
    for each in known.papers:
        if each.id == paper:
            return trial_of(known, key_of(known, each))
    raise UnknownName.of("paper test", paper, [each.id for each in known.papers], where=known.name)


def compare_trials(first: Trial, second: Trial) -> Difference:
    """How much more the first tool breaks than the second.

    Where only the ends were heard and were judged by the same means, the doubt about that judging mostly cancels.
    Raises :class:`~coatwright.errors.OutOfRange` where one of them has too few hairs for a word.
    """
    for each in (first, second):
        if each.verdict.word == TOO_FEW:
            raise OutOfRange(
                f"The test of {each.tool or 'the bare hand'} on {each.key.day} has too few hairs to be compared.",
                where=each.key.zone,
                remedy=f"Add another sheet: it takes at least {FEWEST} hairs.",
            )
    assert first.belief is not None
    assert second.belief is not None
    misjudged = _means(first)
    if misjudged is not None and misjudged == _means(second):
        one, two = ((trial.broken, trial.broken + trial.whole) for trial in (first, second))
        return difference_of_ends(one, two, misjudged)
    return difference(first.belief, second.belief)


@dataclass(frozen=True, eq=False)
class Compared:
    """Two tools beside each other: a trial of each, and the difference in words; ``same``: of one zone of one dog."""

    first: Trial
    second: Trial
    words: str
    same: bool


def compared(first: Iterable[Trial], second: Iterable[Trial], name: str, other: str) -> Compared | None:
    """Two tools by their newest trials that have a word; on the same zone of the same dog where there are such.

    ``name`` is that of the first, ``other`` of the second. None where one of them has none.
    """
    mine, theirs = (
        sorted((each for each in trials if each.verdict.word != TOO_FEW), key=lambda each: each.key.day)
        for trials in (first, second)
    )
    if not mine or not theirs:
        return None
    pairs = [
        (one, two)
        for one in mine
        for two in theirs
        if (one.key.dog, one.key.zone) == (two.key.dog, two.key.zone)
    ]
    newest = max(
        pairs, key=lambda pair: sorted(each.key.day for each in pair), default=(mine[-1], theirs[-1])
    )
    words = difference_words(compare_trials(*newest), name, other)
    return Compared(*newest, words, bool(pairs))


def difference_words(found: Difference, first: str, second: str) -> str:
    """A difference in a sentence, the tools by their names."""
    low, high = (100.0 * value for value in found.interval)
    sure = max(found.chance, 1.0 - found.chance)
    worse, better = (first, second) if found.chance >= 0.5 else (second, first)
    if worse == second:
        low, high = -high, -low
    chance = "above 99 %" if sure > 0.99 else f"{100 * sure:.0f} %"
    start = f"{worse} breaks more than {better}" if sure >= SURE else "No difference is shown"
    return f"{start}: {worse} {low:+.0f} to {high:+.0f} of 100 hairs, chance that it breaks more {chance}."


@dataclass(frozen=True, slots=True, eq=False)
class _Same:
    """A dog as a key: the same record, not an equal one, which would take long to compare."""

    dog: Dog

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.dog is self.dog

    def __hash__(self) -> int:
        return id(self.dog)


@lru_cache(maxsize=512)
def _trial(of: _Same, key: TrialKey) -> Trial:
    return _heard(of.dog, key, ())


def _heard(dog: Dog, key: TrialKey, extra: Sequence[PaperCount]) -> Trial:
    known = {one.id for one in dog.papers}
    kept = [*dog.papers, *(paper for paper in extra if paper.id not in known)]
    papers = tuple(paper for paper in kept if paper.purpose == "tool" and key_of(dog, paper) == key)
    if not papers:
        raise UnknownName(
            f"There is no paper test of {key.zone} on {key.day}.",
            where=dog.name,
            remedy="Read a sheet first.",
        )
    return _told(key, papers, hear_sheets(dog, kept, papers, key.zone, key.day))


def trial_of_sheets(papers: Sequence[PaperCount]) -> Trial:
    """What sheets say that belong to no kept dog: all that test a tool are one trial, the others its measures.

    Raises :class:`~coatwright.errors.UnknownName` where none tests a tool.
    """
    tested = tuple(paper for paper in papers if paper.purpose == "tool")
    if not tested:
        raise UnknownName("No sheet tests a tool.", remedy="Read a sheet of hair pulled with the tool.")
    first = tested[0]
    key = TrialKey("", first.zone, gear_key(first.tool), gear_key(first.groomer), first.day)
    return _told(key, tested, hear_sheets(None, papers, tested, key.zone, key.day))


def _told(key: TrialKey, papers: tuple[PaperCount, ...], heard: Heard) -> Trial:
    lengths = [length for paper in papers for length in paper.whole_mm if length > 0.0]
    enough = len(lengths) >= 2
    return Trial(
        key,
        next((paper.tool for paper in papers if paper.tool), ""),
        papers,
        heard,
        _verdict(heard),
        fibre_report(lengths) if enough else None,
        hauteur_barbe(lengths) if enough else None,
    )


def _verdict(heard: Heard) -> Verdict:
    """The verdict; where only the coat model accuses, the word is no more than doubtful."""
    if heard.testimony is None:
        why = f"No end was judged and there is no control; a verdict takes at least {FEWEST} hairs."
        return Verdict(TOO_FEW, None, None, None, 0, why, "")
    said = verdict(heard.testimony)
    if said.word == BREAKS and heard.control == LAYERS and by_lengths_alone(heard.testimony):
        return replace(said, word=DOUBTFUL, why=f"{said.why} {MODEL_ALONE}", rule=rule_of(DOUBTFUL))
    return said


def _settling(papers: Sequence[PaperCount], heard: Heard, said: Verdict) -> Settling:
    testimony = heard.testimony
    if testimony is None:
        return Settling(None, None, 0.0)
    if said.word == DOUBTFUL and word_for(believed(testimony)) != DOUBTFUL:
        return Settling(None, None, 0.0, _instead(heard, testimony))
    broken, whole = sum(paper.broken for paper in papers), sum(paper.whole for paper in papers)
    lens_too = heard.misjudged is not None and _lens_count(papers)
    if testimony.lengths is None and not lens_too:
        return more_for_ends(broken, broken + whole, heard.misjudged)
    alone = by_lengths_alone(testimony)
    return more_hairs(believed(testimony), testimony.measured if alone else testimony.heard)


def _instead(heard: Heard, testimony: Testimony) -> str:
    """What would settle a word that is doubtful though the belief is not."""
    if not by_lengths_alone(testimony):
        return f"{NO_MORE_HAIRS}the witnesses contradict each other. Count {FEWEST} or more under a lens."
    if heard.control == LAYERS:
        return f"{NO_MORE_HAIRS}judge ends, or pull a sheet with bare fingers."
    return f"{NO_MORE_HAIRS}judge the ends of {FEWEST} or more, or count them by hand."


def _lens_count(papers: Sequence[PaperCount]) -> int:
    """Hairs judged under a lens."""
    return sum(
        paper.counted_broken + paper.counted_whole if paper.sheet else paper.judged for paper in papers
    )


def _means(trial: Trial) -> Misjudged | None:
    """How the ends of a trial are misjudged where they alone were heard, all from photographs."""
    alone = not trial.heard.control and not _lens_count(trial.papers)
    return trial.heard.misjudged if alone else None
