"""Random coats for the tests of this room."""

from hypothesis import strategies as st

from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat

TODAY = 740_000

GROWTHS = st.builds(
    Growth,
    lag=st.floats(5, 45),
    rate=st.floats(0.2, 1.0),
    end=st.floats(20, 100),
    spread=st.sampled_from([0.0, 0.05, 0.1, 0.2]),
    loss=st.sampled_from([0.0, 0.0, 0.01]),
)


def layers(*, cut: bool = True) -> st.SearchStrategy[Layer]:
    """One layer pulled up to a year and a half ago, some of them with a blunt tip."""
    removed = st.sampled_from([0.0, 0.0, 3.0, 12.0]) if cut else st.just(0.0)
    return st.builds(Layer, st.integers(TODAY - 540, TODAY), st.floats(0.02, 1.0), removed)


def coats(*, cut: bool = True) -> st.SearchStrategy[ZoneCoat]:
    """One to six layers whose shares add up to 1."""
    return st.lists(layers(cut=cut), min_size=1, max_size=6).map(ZoneCoat.of)


def part_of(stands: float, part: float) -> float:
    """A take of a part of what stands; never above 1 by the last bits of a sum."""
    return min(part * stands, 1.0)
