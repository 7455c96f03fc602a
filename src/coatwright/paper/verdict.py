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
"""No verdict on fewer hairs than this."""

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
    to give any; ``over`` the chance that it lies above the limit; ``why`` a sentence; ``rule`` what follows for the
    work, empty where nothing does.
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


def verdict_on(belief: ShareBelief, heard: int, limit: Share = LIMIT) -> Verdict:
    """The verdict from one belief over ``heard`` hairs."""
    if heard < FEWEST:
        return Verdict(
            TOO_FEW, None, None, None, heard,
            f"{heard} hairs were judged; a verdict takes at least {FEWEST}, better 100. Add another sheet.", "",
        )  # fmt: skip
    word = word_for(belief, limit)
    low, high = belief.interval()
    why = (
        f"Of 100 hairs about {_hundredths(belief.median)} break ({_hundredths(low)} to {_hundredths(high)}), "
        f"from {heard} hairs."
    )
    return Verdict(word, belief.median, (low, high), belief.above(limit), heard, why, _rule(word))


def verdict(testimony: Testimony, limit: Share = LIMIT) -> Verdict:
    """The verdict from all that was heard.

    Lengths alone can accuse a tool but not clear it: a hair that breaks just above the skin is nearly as long as a
    whole one. Where the lengths tell of more breaking than the ends do, the tool may only take shorter hair than the
    fingers did: that stays doubtful, unless each witness alone says that the tool breaks hair.
    """
    found = verdict_on(testimony.belief, testimony.heard, limit)
    if found.word == TOO_FEW:
        return found
    if testimony.ends is None and found.word == SOUND:
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


def _but(found: Verdict, word: str, remark: str) -> Verdict:
    """The same verdict with another word and a remark."""
    return replace(found, word=word, why=f"{found.why} {remark}", rule=_rule(word))


def _rule(word: str) -> str:
    if word == BREAKS:
        return RULE
    return f"Until it is settled: {RULE[0].lower()}{RULE[1:]}" if word == DOUBTFUL else ""


def _hundredths(share: Share) -> str:
    hundred = 100.0 * share
    return f"{hundred:.1f}" if 0.05 <= hundred < 9.95 else f"{hundred:.0f}"
