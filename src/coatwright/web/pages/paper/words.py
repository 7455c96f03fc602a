"""What a trial says, in words and rows for the pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from coatwright.paper.verdict import BREAKS, DOUBTFUL, SOUND

if TYPE_CHECKING:
    from coatwright.paper.share import ShareBelief
    from coatwright.salon.verdicts import Trial

LEVELS = {BREAKS: "stop", DOUBTFUL: "caution", SOUND: "note"}
"""How a verdict is set on a page: the shape of its rule."""
KNOWN = {
    "own": "judged as well as hairs of known state of this dog say",
    "drawn": "judged as well as on drawn photos",
    "lens": "under a lens, taken as free of error",
}
CONTROL = {
    "fingers": "against hair of the same zone pulled by bare fingers",
    "layers": "against the coat model",
}


@dataclass(frozen=True)
class Witness:
    """One witness: what it is, what it rests on, what it says of 100 hairs, and its belief for a strip."""

    name: str
    rests: str
    middle: str
    span: str
    belief: ShareBelief


@dataclass(frozen=True)
class TrialTold:
    """A trial in words."""

    level: str
    word: str
    why: str
    rule: str
    settling: str
    remarks: tuple[str, ...]
    witnesses: tuple[Witness, ...]

    @property
    def top(self) -> float:
        """Upper end of the strips of all witnesses, so that they can be compared."""
        return max((1.1 * each.belief.interval()[1] for each in self.witnesses), default=0.0)


def trial_told(trial: Trial) -> TrialTold:
    """What a trial says."""
    said = trial.verdict
    testimony = trial.testimony
    rows = []
    if testimony is not None:
        if testimony.ends is not None:
            rows.append(_witness("The ends", KNOWN.get(trial.heard.known, ""), testimony.ends))
        if testimony.lengths is not None:
            rests = CONTROL.get(trial.heard.control, "")
            if trial.heard.control_hairs:
                rests += f" ({trial.heard.control_hairs} of them)"
            rows.append(_witness("The lengths", rests, testimony.lengths))
        if len(rows) > 1:
            rows.append(_witness("Both, hair by hair", "", testimony.belief))
    return TrialTold(
        LEVELS.get(said.word, "note"),
        said.word,
        said.why,
        said.rule,
        trial.settling.text if testimony is not None and trial.settling.more != 0 else "",
        trial.heard.remarks,
        tuple(rows),
    )


def _witness(name: str, rests: str, belief: ShareBelief) -> Witness:
    low, high = belief.interval()
    return Witness(name, rests, of_100(belief.median), f"{of_100(low)} to {of_100(high)}", belief)


def of_100(share: float) -> str:
    """A share as a number of 100 hairs."""
    return f"{100 * share:.1f}" if 0.0005 <= share < 0.0995 else f"{100 * share:.0f}"
