"""Which hairs of pooled photographs are right: each true hair counts once, whichever photograph it was taken from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from coatwright.paper.marks import Hair
from coatwright.paper.pool import Pooled
from tests.paper.rendering import Photo
from tests.paper.scoring import score

RIGHT_MM = 1.0


@dataclass(frozen=True)
class Alone:
    """One photograph's reading, and the photograph whose numbers its hairs go by."""

    first: Photo
    photo: Photo
    hairs: tuple[Hair, ...]

    @cached_property
    def truth(self) -> dict[int, tuple[int, float]]:
        """Of every hair read: the number of the true hair that it lies on, and that one's length."""
        number = {id(hair.width): k for k, hair in enumerate(self.first.hairs)}
        true = self.photo.hairs
        found = score(
            [hair.trace.points for hair in self.hairs], [hair.length_mm for hair in self.hairs],
            [self.photo.seen(hair) for hair in true], [hair.length for hair in true], [],
        )  # fmt: skip
        return {i: (number[id(true[j].width)], true[j].length) for i, j in found.pairs}

    def right(self) -> int:
        """How many true hairs were read within 1 mm."""
        return sum(abs(self.hairs[i].length_mm - length) <= RIGHT_MM for i, (_, length) in self.truth.items())


def right_in(pooled: Pooled, one: Alone, two: Alone) -> int:
    """How many true hairs the pooled reading has within 1 mm."""
    got = set()
    for hair in pooled.hairs:
        known = (one, two)[hair.photo].truth.get(hair.hair)
        if known is not None and abs(hair.length_mm - known[1]) <= RIGHT_MM:
            got.add(known[0])
    return len(got)
