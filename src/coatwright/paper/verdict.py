"""The verdict on a tool: sound, doubtful or breaks, with what it rests on and what it forbids."""

from __future__ import annotations

from dataclasses import dataclass

from coatwright.paper.share import ShareBelief
from coatwright.paper.witnesses import Testimony
from coatwright.units import Share

LIMIT: Share = 0.05
"""A tool that breaks more than one hair in twenty is not used where hairs must come out whole. Assumption: no
published limit is known."""
SURE_SOUND = 0.95
"""Chance of lying below the limit that is asked for before a tool is called sound."""
SURE_BREAKS = 0.90
"""Chance of lying above the limit at which a tool is said to break hair. Less is asked than for sound: a good knife
laid aside costs little, a coat full of stubs costs months."""
FEWEST = 40
"""No verdict on fewer hairs than this."""

SOUND, DOUBTFUL, BREAKS, TOO_FEW = "sound", "doubtful", "breaks", "too few hairs"
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


def word_for(belief: ShareBelief, limit: Share = LIMIT) -> str:
    """Sound, doubtful or breaks, from the belief alone."""
    over = belief.above(limit)
    if over >= SURE_BREAKS:
        return BREAKS
    return SOUND if 1.0 - over >= SURE_SOUND else DOUBTFUL


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
    """The verdict from all that was heard; witnesses that contradict each other leave it doubtful.

    Only where each of them alone says that the tool breaks hair does a contradiction not matter.
    """
    found = verdict_on(testimony.belief, testimony.heard, limit)
    if not testimony.contradicted or found.word == TOO_FEW:
        return found
    assert testimony.ends is not None
    assert testimony.lengths is not None
    if word_for(testimony.ends, limit) == BREAKS == word_for(testimony.lengths, limit):
        return found
    more = testimony.lengths.median > testimony.ends.median
    reason = (
        "The lengths tell of more breaking than the ends do: the tool may take shorter hair than the fingers did, "
        "or the broken ends are not seen. "
        if more
        else "The ends tell of more breaking than the lengths do: the roots of this coat may be too fine to be seen, "
        "or hairs break just above the skin. "
    )
    why = f"The two witnesses contradict each other. {reason}Take a close-up, or judge the ends under a lens."
    return Verdict(DOUBTFUL, found.share, found.interval, found.over, found.heard, why, _rule(DOUBTFUL))


def _rule(word: str) -> str:
    if word == BREAKS:
        return RULE
    return f"Until it is settled: {RULE[0].lower()}{RULE[1:]}" if word == DOUBTFUL else ""


def _hundredths(share: Share) -> str:
    hundred = 100.0 * share
    return f"{hundred:.1f}" if hundred < 9.95 else f"{hundred:.0f}"
