"""The verdict on a tool: sound, doubtful or breaks, with what it rests on and what it forbids."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coatwright.paper.share import ShareBelief
from coatwright.paper.witnesses import Testimony
from coatwright.units import Share

LIMIT: Share = 0.04
"""A tool that breaks more than one hair in twenty-five is not used where hairs must come out whole. Assumption: no
published limit is known."""
SURE = 0.95
"""Chance of lying below the limit that is asked for before a tool is called sound, or above it to say it breaks."""
FEWEST = 40
"""No verdict on fewer hairs than this: so many judged ends, or so many lengths where these speak alone."""

SOUND, DOUBTFUL, BREAKS, TOO_FEW = "sound", "doubtful", "breaks", "too few hairs"
_NOT_CLEARED = (
    "The lengths show hardly a piece, but a hair that breaks just above the skin is nearly as long as a whole one: "
    "judge the ends too, or count by hand."
)
_ENDS_SAY_MORE = (
    "The ends tell of more breaking than the lengths do: hairs break just above the skin, or the roots of this coat "
    "are too fine to be seen. Look at some under a lens."
)
_LENGTHS_SAY_MORE = (
    "The lengths tell of more breaking than the ends do: the tool takes shorter hair than the fingers did, or broken "
    "ends go unseen. Look at some under a lens."
)
RULE = "Not for a rolling coat, nor for a show dog."


@dataclass(frozen=True, slots=True)
class Verdict:
    """One word and its grounds.

    ``share`` is the median and ``interval`` the 95 % interval of the break share, None where there are too few hairs
    to give any; ``over`` the chance that it lies above the limit; ``heard`` how many hairs it rests on; ``why`` a
    sentence; ``rule`` what follows for the work, empty where nothing does.
    """

    word: str
    share: Share | None
    interval: tuple[Share, Share] | None
    over: float | None
    heard: int
    why: str
    rule: str

    @property
    def text(self) -> str:
        """All of it in sentences."""
        return " ".join(part for part in (f"{self.word.capitalize()}.", self.why, self.rule) if part)


def word_of(over: float) -> str:
    """Sound, doubtful or breaks, from the chance that the share lies above the limit."""
    if over >= SURE:
        return BREAKS
    return SOUND if over <= 1.0 - SURE else DOUBTFUL


def word_for(belief: ShareBelief, limit: Share = LIMIT) -> str:
    """Sound, doubtful or breaks, from the belief alone."""
    return word_of(belief.above(limit))


def verdict_on(belief: ShareBelief, heard: int, limit: Share = LIMIT, *, spoke: str = "") -> Verdict:
    """The verdict from one belief over ``heard`` hairs; ``spoke`` says what they spoke by, judged ends without it."""
    told = spoke or f"{heard} judged hairs"
    if heard < FEWEST:
        return Verdict(
            TOO_FEW, None, None, None, heard,
            f"A verdict takes at least {FEWEST} hairs, better 100; this is from {told}. Add another sheet.", "",
        )  # fmt: skip
    word = word_for(belief, limit)
    low, high = belief.interval()
    span = f"{_hundredths(low)} to {_hundredths(high)}"
    why = f"Of 100 hairs about {_hundredths(belief.median)} break ({span}), from {told}."
    return Verdict(word, belief.median, (low, high), belief.above(limit), heard, why, rule_of(word))


def by_lengths_alone(testimony: Testimony) -> bool:
    """Whether the word rests on the lengths alone: fewer than :data:`FEWEST` ends were judged, and lengths heard."""
    return testimony.lengths is not None and testimony.judged < FEWEST


def believed(testimony: Testimony) -> ShareBelief:
    """What the word rests on: all that was heard, or the lengths alone where too few ends were judged to speak."""
    if by_lengths_alone(testimony):
        assert testimony.lengths is not None
        return testimony.lengths
    return testimony.belief


def verdict(testimony: Testimony, limit: Share = LIMIT) -> Verdict:
    """The verdict from all that was heard.

    Ends speak from :data:`FEWEST` judged hairs on; fewer are set aside where the lengths of as many hairs can speak
    alone. Lengths alone can accuse a tool but not clear it: a hair that breaks just above the skin is nearly as long
    as a whole one. Where the lengths tell of more breaking than the ends do, the tool may only take shorter hair than
    the fingers did: that stays doubtful, unless each witness alone says that the tool breaks hair.
    """
    alone = by_lengths_alone(testimony)
    heard = testimony.measured if alone else testimony.heard
    found = verdict_on(believed(testimony), heard, limit, spoke=_spoke(testimony))
    if found.word == TOO_FEW:
        return found
    if alone and found.word == SOUND:
        return _but(found, DOUBTFUL, _NOT_CLEARED)
    if not testimony.contradicted:
        return found
    assert testimony.ends is not None
    assert testimony.lengths is not None
    if testimony.ends.median > testimony.lengths.median:
        return _but(found, found.word, _ENDS_SAY_MORE)
    if word_for(testimony.ends, limit) == BREAKS == word_for(testimony.lengths, limit):
        return found
    return _but(found, DOUBTFUL, _LENGTHS_SAY_MORE)


def _spoke(testimony: Testimony) -> str:
    """How many hairs spoke, and by what."""
    judged, measured = testimony.judged, testimony.measured
    if testimony.lengths is None:
        return f"{judged} judged hairs"
    if not by_lengths_alone(testimony):
        return f"{judged} judged hairs and the lengths of {measured}"
    if not judged:
        return f"the lengths of {measured} hairs alone, none of them judged"
    return f"the lengths of {measured} hairs alone: {judged} judged ones are fewer than {FEWEST}"


def _but(found: Verdict, word: str, remark: str) -> Verdict:
    """The same verdict with another word and a remark."""
    return replace(found, word=word, why=f"{found.why} {remark}", rule=rule_of(word))


def rule_of(word: str) -> str:
    """What follows from a word for the work; empty where nothing does."""
    if word == BREAKS:
        return RULE
    return f"Until it is settled: {RULE[0].lower()}{RULE[1:]}" if word == DOUBTFUL else ""


def _hundredths(share: Share) -> str:
    hundred = 100.0 * share
    return f"{hundred:.1f}" if 0.05 <= hundred < 9.95 else f"{hundred:.0f}"
