"""What the tablet works out by itself, against the coat model, FIPS 180-4 and RFC 9562; its modules in Chromium."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page

from coatwright.coat.growth import Growth
from coatwright.coat.layers import Layer, ZoneCoat, pull, shed
from coatwright.coat.measures import cover
from coatwright.web.table.bundle import growth_row, layer_rows

STATIC = Path(__file__).parents[2] / "src/coatwright/web/table/static"
PLACE = "http://table.test/"
DAY = 739_000
NEAR = 1e-6


@pytest.fixture(scope="module")
def modules(browser) -> Iterator[Page]:
    """A page that can import the tablet's modules, with no desk behind it."""
    context = browser.new_context()
    page = context.new_page()

    def give(route) -> None:
        name = route.request.url.removeprefix(PLACE)
        if name:
            route.fulfill(path=STATIC / name, content_type="text/javascript")
        else:
            route.fulfill(body="<!doctype html><title>modules</title>", content_type="text/html")

    page.route(f"{PLACE}**", give)
    page.goto(PLACE)
    yield page
    context.close()


def random_case(rng: np.random.Generator) -> tuple[ZoneCoat, Growth]:
    growth = Growth(
        lag=round(float(rng.uniform(10, 60)), 2),
        rate=round(float(rng.uniform(0.2, 1.0)), 3),
        end=round(float(rng.uniform(15, 120)), 1),
        spread=round(float(rng.uniform(0.0, 0.3)), 3),
        loss=float(rng.choice([0.0, 0.004, 0.05])),
        hold=float(rng.choice([0.0, 30.0, 60.0])),
    )
    layers = [
        Layer(
            DAY - int(rng.integers(0, 320)),
            float(rng.uniform(0.02, 1.0)),
            float(rng.choice([0.0, 0.0, rng.uniform(0, 30)])),
        )
        for _ in range(rng.integers(1, 9))
    ]
    return ZoneCoat.of(layers), growth


def test_cover_and_layers_after_a_take_are_those_of_the_coat_model(modules):
    """2,000 random coats: cover before and after, every layer after the pull, and what sheds until a later day."""
    rng = np.random.default_rng(20261125)
    cases, wanted = [], []
    for _ in range(2000):
        coat, growth = random_case(rng)
        standing = cover(coat, DAY, growth)
        take = round(float(rng.uniform(0.0, 1.0)) * standing, 4)
        selectivity = float(rng.choice([1.0, 1.0, 0.6, 0.0]))
        broken = float(rng.choice([0.0, 0.0, 0.04, 0.3]))
        visible = float(rng.choice([0.0, 5.0, 12.0]))
        later = DAY + int(rng.integers(0, 120))
        pulled = pull(coat, DAY, take, growth, selectivity=selectivity, broken=broken).coat
        shedded = shed(pulled, DAY, later, growth)
        cases.append(
            {
                "layers": [[each.born, each.share, each.removed] for each in coat.layers],
                "growth": growth_row(growth),
                "take": take,
                "how": {"selectivity": selectivity, "broken": broken},
                "visible": visible,
                "later": later,
            }
        )
        wanted.append(
            (
                cover(coat, DAY, growth, visible),
                cover(pulled, DAY, growth, visible),
                cover(shedded, later, growth, visible),
                [(each.born, each.share, each.removed) for each in pulled.layers],
            )
        )
    found = modules.evaluate(
        """async ([cases, day]) => {
          const { cover, pull, shed } = await import("/model.js");
          return cases.map(({ layers, growth, take, how, visible, later }) => {
            const pulled = pull(layers, day, take, growth, how);
            return [
              cover(layers, day, growth, visible),
              cover(pulled, day, growth, visible),
              cover(shed(pulled, day, later, growth), later, growth, visible),
              pulled,
            ];
          });
        }""",
        [cases, DAY],
    )
    for (before, after, then, layers), (b, a, t, rows) in zip(wanted, found, strict=True):
        assert (b, a, t) == pytest.approx((before, after, then), abs=NEAR)
        assert len(rows) == len(layers)
        for row, layer in zip(rows, layers, strict=True):
            assert row == pytest.approx(list(layer), abs=NEAR)


def test_what_the_bundle_carries_of_a_coat_is_enough_for_its_cover(modules):
    rng = np.random.default_rng(7)
    cases, wanted = [], []
    for _ in range(200):
        coat, growth = random_case(rng)
        cases.append([layer_rows(coat), growth_row(growth)])
        wanted.append(cover(coat, DAY, growth))
    found = modules.evaluate(
        """async ([cases, day]) => {
          const { cover } = await import("/model.js");
          return cases.map(([layers, growth]) => cover(layers, day, growth));
        }""",
        [cases, DAY],
    )
    assert found == pytest.approx(wanted, abs=NEAR)


SPARED = """async ([zone, day, share]) => {
  const { spared } = await import("/model.js");
  return spared(zone, day, share);
}"""


def rolling(**changes: object) -> dict[str, object]:
    """Ten equal layers, a fortnight apart; a tenth is planned now and at each coming visit."""
    growth = Growth()
    coat = ZoneCoat.even(DAY - 14, 14, 10)
    return {
        "layers": layer_rows(coat),
        "growth": growth_row(growth),
        "planned": 0.1,
        "look": 0.5,
        "welfare": 0.0,
        "visible": 0.0,
        "broken": 0.0,
        "next": [[DAY + 14 * k, 0.1] for k in range(1, 5)],
    } | changes


def test_what_goes_beyond_the_plan_is_spared_at_the_next_visits(modules):
    """Twice what is planned spares the next visit; three times two of them; as planned none."""
    days = {
        share: [(each["day"] - DAY, round(each["left"], 3)) for each in found]
        for share in (0.1, 0.15, 0.2, 0.3)
        for found in [modules.evaluate(SPARED, [rolling(), DAY, share])]
    }
    assert days == {
        0.1: [],
        0.15: [(14, 0.05)],
        0.2: [(14, 0.0)],
        0.3: [(14, 0.0), (28, 0.0)],
    }


def test_a_visit_that_would_fall_under_the_floor_takes_less(modules):
    """90 % cover now, 60 % after 30 % went, 70 % a fortnight on: under a floor of 60 %, only 10 % of 40 may go."""
    found = modules.evaluate(SPARED, [rolling(look=0.6, next=[[DAY + 14, 0.4]]), DAY, 0.3])
    assert [round(each["left"], 6) for each in found] == [0.1]


def test_the_checksum_is_that_of_the_standard(modules):
    """FIPS 180-4 with its published examples "abc" and the empty message, and hashlib on other lengths."""
    rng = np.random.default_rng(3)
    texts = [b"abc", b"", b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"]
    texts += [
        bytes(rng.integers(0, 256, size, dtype=np.uint8)) for size in (55, 56, 63, 64, 65, 1000, 70_001)
    ]
    found = modules.evaluate(
        """async (texts) => {
          const { sha256 } = await import("/ids.js");
          return texts.map(text => sha256(Uint8Array.from(text)));
        }""",
        [list(text) for text in texts],
    )
    assert found[0] == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert found == [hashlib.sha256(text).hexdigest() for text in texts]


def test_ids_are_random_ones_of_version_four(modules):
    """RFC 9562, 5.4: version 4, variant 10."""
    found = modules.evaluate(
        """async () => {
          const { newId } = await import("/ids.js");
          return Array.from({ length: 1000 }, newId);
        }"""
    )
    assert len(set(found)) == 1000
    for text in found:
        made = uuid.UUID(text)
        assert (str(made), made.version, made.variant) == (text, 4, uuid.RFC_4122)


MOMENTS = """async (clocks) => {
  const { moment } = await import("/times.js");
  const real = Date.now;
  let visit = {};
  try {
    return clocks.map((clock) => {
      visit = JSON.parse(JSON.stringify(visit)); // what the tablet keeps of it over a restart
      Date.now = () => clock;
      return moment(visit);
    });
  } finally {
    Date.now = real;
  }
}"""
HOUR = 3_600_000


def test_what_is_said_later_has_the_later_time_also_after_the_clock_was_set_back(modules):
    """50 min ahead is kept by the desk, so what follows must come after it, however right the clock is by then."""
    noon = 1_795_000_000_000
    ahead = noon + 50 * 60_000
    clocks = [ahead, ahead, noon + 60_000, noon + 120_000, ahead + 5_000]
    assert modules.evaluate(MOMENTS, clocks) == [ahead, ahead + 1, ahead + 2, ahead + 3, ahead + 5_000]


def test_after_a_clock_that_the_desk_refuses_was_set_right_its_time_is_taken(modules):
    """More than an hour ahead is refused; so nothing that was said then has to come before."""
    noon = 1_795_000_000_000
    ahead = noon + 2 * HOUR
    assert modules.evaluate(MOMENTS, [ahead, ahead, noon, noon, noon + 5]) == [
        ahead,
        ahead + 1,
        noon,
        noon + 1,
        noon + 5,
    ]
