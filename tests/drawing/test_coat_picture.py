"""The coat picture: true to the looks, well-formed, light, safe, and readable without eyes or colours."""

import gzip
import subprocess
import sys

import numpy as np
import pytest

from coatwright.drawing.canvas import Canvas
from coatwright.drawing.coat_picture import MODES, Scale, ZoneValue, coat_picture
from coatwright.drawing.figure import figure
from coatwright.drawing.looks import ZoneLook
from coatwright.drawing.palette import PALETTES, palette
from coatwright.drawing.pelt import ORDER
from coatwright.drawing.roots import roots
from coatwright.drawing.scene import Scene
from coatwright.drawing.shaded import label_places
from coatwright.errors import InputError, UnknownName
from coatwright.patterns import zones
from tests.drawing.coats import DOGS, END, STATES, looks_of
from tests.drawing.reading import collisions, every, hairs, parsed, refused_by_a_strict_policy

UNSEEN = [key for key, zone in zones().items() if not zone.seen]
TERRIER = figure("square", "folded", "up", 390.0)


def drawn(dog, state, **more):
    return coat_picture(figure(*dog[:4]), looks_of(state), dog[4], **more)


def takes():
    return {
        zone: ZoneValue(share, f"{100 * share:.0f} %")
        for zone, share in zip([*END, *UNSEEN], np.tile([0.05, 0.1, 0.15, 0.2, 0.35], 5), strict=True)
    }


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("dog", DOGS, ids=lambda dog: dog[0])
def test_what_is_on_the_page_has_the_lengths_and_shares_of_the_looks(dog, state):
    root = parsed(drawn(dog, state))
    mm = float(root.get("data-mm"))
    rooted = roots(figure(*dog[:4]))
    looks = looks_of(state)
    far = {"forelegs", "feet", "hocks", "hind_feet", "thighs"}
    seen = {zone: [] for zone in END}
    for group in every(root, "g", class_="cw-hair"):
        for path in group:
            seen[group.get("data-hair")] += (hairs(path.get("d"))[2] * mm).tolist()
    for zone, look in looks.items():
        count = len(rooted.of(zone)) + (len(rooted.of(zone, far=True)) if zone in far else 0)
        # the far legs have few roots, so that a share is good to one of them
        assert len(seen[zone]) / count == pytest.approx(look.cover, abs=0.02)
        if look.mean_mm > 3.0 and len(seen[zone]) > 20:
            # whole units of the view box: half a unit of error per hair evens out
            assert np.mean(seen[zone]) == pytest.approx(look.mean_mm, rel=0.02, abs=0.25 * mm)


def test_a_bare_zone_has_no_strokes_and_says_so():
    looks = looks_of("week 12")
    looks["ribs"] = ZoneLook("ribs", np.zeros(1), np.ones(1))
    del looks["back"]
    root = parsed(coat_picture(TERRIER, looks, "red"))
    haired = {group.get("data-hair") for group in every(root, "g", class_="cw-hair")}
    assert haired == set(END) - {"ribs", "back"}
    words = {zone.get("data-zone"): zone.get("aria-label") for zone in every(root, "g", class_="cw-zone")}
    assert words["ribs"] == "ribs: bare"
    assert words["back"] == "back: bare"
    assert words["neck"].startswith("neck: longest layer ")


def test_stripped_week_six_and_week_twelve_differ_in_outline():
    """The tips of the hair over the back stand higher with every week."""

    def height(state):
        root = parsed(coat_picture(TERRIER, looks_of(state), "red"))
        tips = [hairs(p.get("d"))[1] for g in every(root, "g", data_hair="back") for p in g]
        return -np.percentile(np.concatenate(tips)[:, 1], 1)

    assert height("week 6") < height("week 12") - 4
    stripped, six, twelve = (len(drawn(DOGS[0], state)) for state in ("stripped", "week 6", "week 12"))
    assert stripped < 0.6 * six < 0.8 * twelve


@pytest.mark.parametrize("dog", DOGS, ids=lambda dog: dog[0])
def test_the_heaviest_coat_weighs_less_than_60_kilobytes_compressed(dog):
    for colour in (dog[4], "grizzle"):
        text = coat_picture(figure(*dog[:4]), looks_of("blown"), colour)
        assert len(text) < 200_000
        assert len(gzip.compress(text.encode())) < 60_000


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
@pytest.mark.parametrize("mode", MODES)
def test_every_theme_and_mode_is_well_formed_and_passes_a_strict_policy(mode, theme):
    for dog in DOGS[:3]:
        root = parsed(drawn(dog, "rolling", mode=mode, theme=theme, values=takes(), title="Tip"))
        assert refused_by_a_strict_policy(root) == []
        ids = [element.get("id") for element in root.iter() if element.get("id")]
        assert len(ids) == len(set(ids))
        for element in root.iter():
            for value in element.attrib.values():
                assert "nan" not in value.lower().split()


def test_text_from_outside_is_escaped_and_control_characters_go():
    nasty = 'A & B <script>alert("1")</script>\x00\x0b{ident}'
    text = coat_picture(
        TERRIER,
        looks_of("week 6"),
        "red",
        mode="shade",
        title=nasty,
        values={"back": ZoneValue(1.0, nasty), "belly": ZoneValue(0.5, nasty)},
        names={"back": nasty},
        scale=Scale(nasty, 0, 1, nasty, nasty),
        link='?a="{zone}"&b',
    )
    root = parsed(text)
    assert "<script" not in text
    assert every(root, "title")[0].text == 'A & B <script>alert("1")</script>{ident}'
    assert every(root, "a", data_zone="back")[0].get("href") == '?a="back"&b'


def test_the_same_coat_is_the_same_picture_in_every_process():
    code = (
        "import zlib; from tests.drawing.coats import *; from coatwright.drawing.figure import figure;"
        "from coatwright.drawing.coat_picture import coat_picture as c;"
        "print(zlib.crc32(c(figure(*DOGS[0][:4]), looks_of('week 6'), DOGS[0][4]).encode()))"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(found) == 1


def test_zones_can_be_reached_by_key_and_are_named():
    root = parsed(drawn(DOGS[0], "week 6", names={"back": "Rücken"}))
    found = every(root, "g", class_="cw-zone")
    assert {zone.get("data-zone") for zone in found} == set(END)
    assert all(zone.get("tabindex") == "0" and zone.get("aria-label") for zone in found)
    assert found[-1].get("data-zone") == "ears"
    label = every(root, "g", data_zone="back")[0].get("aria-label")
    assert label.startswith("Rücken: longest layer 33 mm, cover 100 %")
    assert every(root, "title")[0].get("id") == root.get("aria-labelledby")
    assert every(root, "desc")[0].get("id") == root.get("aria-describedby")


def test_zones_are_links_where_an_address_is_given():
    root = parsed(drawn(DOGS[0], "week 6", link="/dog/7?zone={zone}"))
    assert every(root, "a", data_zone="hind_feet")[0].get("href") == "/dog/7?zone=hind_feet"


def test_a_printed_picture_has_nothing_to_pick_and_a_picked_zone_is_outlined():
    root = parsed(drawn(DOGS[0], "week 6", theme="print", selected="ribs"))
    assert every(root, "g", class_="cw-zone") == []
    assert root.get("role") == "img"
    assert len(every(root, "g", class_="cw-mark")) == 1
    assert every(parsed(drawn(DOGS[0], "week 6", selected="belly")), "g", class_="cw-mark") == []


def test_the_view_box_is_the_same_on_every_day_and_holds_the_coat():
    for dog in DOGS:
        boxes = {parsed(drawn(dog, state)).get("viewBox") for state in STATES}
        assert len(boxes) == 1
        width, height = (float(v) for v in boxes.pop().split()[2:])
        root = parsed(drawn(dog, "week 12"))
        tips = np.concatenate([hairs(p.get("d"))[1] for g in every(root, "g", class_="cw-hair") for p in g])
        assert tips.min() >= 0
        assert tips[:, 0].max() <= width
        assert tips[:, 1].max() <= height


def test_the_bar_is_as_long_as_it_says():
    for dog in DOGS:
        root = parsed(drawn(dog, "week 6"))
        bar = every(root, "path", class_="cw-bar")[0].get("d")
        start, end = float(bar[1:].split()[0]), float(bar.split("H")[1].split("v")[0])
        words = next(t.text for t in every(root, "text") if t.text.endswith(" mm"))
        assert (end - start) * float(root.get("data-mm")) == pytest.approx(float(words.split()[0]), rel=0.01)


def test_every_zone_is_drawn_once():
    assert sorted((*ORDER, "tail")) == sorted(END)


@pytest.mark.parametrize("dog", DOGS, ids=lambda dog: dog[0])
def test_words_on_a_shaded_dog_do_not_overlap_and_stay_in_the_picture(dog):
    dog_figure = figure(*dog[:4])
    scene = Scene(dog_figure, looks_of("rolling"), palette(dog[4]), "light", Canvas(dog_figure))
    found = label_places(scene, takes())
    assert {label.zone for label in found} == set(END)
    assert collisions([(label.zone, label.box) for label in found]) == []
    for label in found:
        left, top, right, bottom = label.box
        assert left >= 0
        assert top >= 0
        assert right <= scene.canvas.width
        assert bottom <= scene.canvas.floor
        if label.anchor is None:
            x, y = (
                label.x / scene.canvas.scale + scene.canvas.left,
                scene.canvas.top - label.y / scene.canvas.scale,
            )
            assert dog_figure.zone_at(x, y) == label.zone


def test_a_shaded_dog_says_its_values_and_lists_what_cannot_be_seen():
    values = takes()
    scale = Scale("Take today", 0.0, 0.35, "none", "35 %")
    root = parsed(drawn(DOGS[0], "rolling", mode="shade", values=values, scale=scale, title="Takes"))
    words = [text.text for text in every(root, "text")]
    assert words.count(values["back"].text) >= 1
    assert {"Take today", "none", "35 %", "Not seen from the side"} <= set(words)
    for zone in UNSEEN:
        assert f"{zone.replace('_', ' ')}: {values[zone].text}" in words
        assert len(every(root, "g", data_zone=zone, class_="cw-unseen")) == 1
    patches = {p.get("data-shade"): p.get("fill") for p in every(root, "path") if p.get("data-shade")}
    assert patches == {zone: scale.colour(values[zone].value) for zone in END}
    labels = {zone.get("data-zone"): zone.get("aria-label") for zone in every(root, "g", class_="cw-zone")}
    assert labels["ribs"] == f"ribs: {values['ribs'].text}"


def test_a_shaded_dog_without_a_value_says_so():
    root = parsed(drawn(DOGS[0], "rolling", mode="shade", values={"back": ZoneValue(0.2, "20 %")}))
    labels = {zone.get("data-zone"): zone.get("aria-label") for zone in every(root, "g", class_="cw-zone")}
    assert labels["back"] == "back: 20 %"
    assert labels["neck"] == "neck: no value"


def test_every_colour_of_coat_can_be_drawn_in_every_theme():
    for colour in PALETTES:
        pictures = {
            coat_picture(TERRIER, looks_of("week 6"), colour, theme=t) for t in ("light", "dark", "print")
        }
        assert len(pictures) == 3


def test_unknown_modes_themes_and_colours_are_refused():
    with pytest.raises(InputError, match="coat or shade"):
        coat_picture(TERRIER, {}, "red", mode="x-ray")
    with pytest.raises(InputError, match="light, dark, print"):
        coat_picture(TERRIER, {}, "red", theme="neon")
    with pytest.raises(UnknownName, match="coat colour"):
        coat_picture(TERRIER, {}, "blue")
