"""A control where no sheet was pulled by fingers: what the coat model says a take brings out."""

from __future__ import annotations

import numpy as np

from coatwright.coat.growth import Growth, length
from coatwright.coat.layers import ZoneCoat, pull
from coatwright.errors import OutOfRange
from coatwright.paper.witness_lengths import SHORTEST_MM, Layers
from coatwright.units import Day, Share


def layers_taken(
    coat: ZoneCoat,
    day: Day,
    share: Share,
    growth: Growth,
    *,
    selectivity: float = 1.0,
    worth: float = 30.0,
    scale_sd: float = 0.1,
) -> Layers:
    """The lengths of whole hairs in a take of ``share`` of a zone on ``day``, as a control for the length witness.

    ``selectivity`` as in :func:`coatwright.coat.layers.pull`; ``worth`` (hairs) and ``scale_sd`` say how far the
    model is trusted, see :class:`Layers`. Raises :class:`OutOfRange` when nothing that can be seen would come out.
    """
    taken = pull(coat, day, share, growth, selectivity=selectivity).renewed
    born = np.array([layer.born for layer, _ in taken], dtype=float)
    removed = np.array([layer.removed for layer, _ in taken], dtype=float)
    parts = np.array([part for _, part in taken], dtype=float)
    means = length(day - born, growth, removed) if len(taken) else np.zeros(0)
    seen = means > SHORTEST_MM
    if not np.any(seen):
        raise OutOfRange(
            "By the coat model this take brings out no hair long enough to be seen.",
            remedy="Correct the last assessment, or pull a control sheet with the fingers.",
        )
    kept = means[seen]
    return Layers(
        tuple(kept.tolist()),
        tuple((max(growth.spread, 0.01) * kept).tolist()),
        tuple(parts[seen].tolist()),
        worth,
        scale_sd,
    )
