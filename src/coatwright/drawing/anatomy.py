"""The shaved dog from its left side: outline, zones, far legs and face of every build, in units of 1/100 withers.

Control points lie in ``anatomy.json``. A build moves them (longer legs, shorter muzzle, ...) before the
curves are drawn through them, so that the zones of every build share every point of their borders and
cover the outline without gap or overlap by construction.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from coatwright.drawing.curves import Floats, join, spline
from coatwright.errors import UnknownName
from coatwright.patterns.shapes import BUILDS, EARS, TAILS

RING = (
    "bridge", "brow", "skull", "nape", "topline", "croup", "rear", "hock", "hind_foot", "gaskin",
    "thigh_front", "belly", "leg_back", "foot", "leg_front", "chest", "throat", "jaw", "chin",
)  # fmt: skip
"""Pieces of the outline in order, from under the nose over the back and round to the chin."""
FAR = (("hind_feet", "hind"), ("hocks", "hind"), ("thighs", "hind"), ("feet", "fore"), ("forelegs", "fore"))
"""Zones that show on the far side as well, and the leg they belong to."""
FAR_SHIFT = {"fore": (6.2, 1.3), "hind": (-9.2, 1.3)}
"""Where the far legs stand, seen from a little above."""

FOOT_TOP = 9.0
ELBOW = 52.0
TRUNK_FROM, TRUNK_TO = 66.0, 99.0
HOCK_TUCK = 0.7
"""How much less a short hind leg is bent at the hock."""
HEAD_AT = (-1.0, 119.5)
HEAD_PIVOT = (38.6, -4.0)
STOP_AT = 17.0
STEPS = 8

Point = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Shape:
    """One build with its ears and tail: closed polygons of shape (n, 2), y up from the ground.

    ``lie``    (n, 4): x, y and the unit vector along which the hair lies there
    ``bumps``  (n, 4): x, y, radius and height of muscles (up) and hollows (down)
    """

    withers: float
    outline: Floats
    zones: Mapping[str, Floats]
    far: tuple[tuple[str, Floats], ...]
    saddle: Floats
    eye: tuple[float, float, float]
    nose: Floats
    nostril: Floats
    mouth: Floats
    lie: Floats
    ear_lie: Floats
    tail_lie: Floats
    bumps: Floats


@cache
def _data() -> dict[str, Any]:
    raw: dict[str, Any] = json.loads(files(__package__).joinpath("anatomy.json").read_text(encoding="utf-8"))
    return raw


@cache
def shape(build: str, ears: str, tail: str) -> Shape:
    """The side view of a build with a kind of ears and tail, in units of 1/100 of the square dog's withers."""
    for kind, name, known in (
        ("build", build, BUILDS),
        ("kind of ear", ears, EARS),
        ("kind of tail", tail, TAILS),
    ):
        if name not in known:
            raise UnknownName.of(kind, name, known)
    data = _data()
    body, head = data["body"], data["head"]
    move = _Build(data["builds"][build])
    nodes = {name: move.head(p) for name, p in head["nodes"].items()}
    nodes |= {name: move.body(p) for name, p in body["nodes"].items()}

    def placed(points: Sequence[Any], part: Any) -> list[Point]:
        way = move.head if part is head else move.body
        return [nodes[p] if isinstance(p, str) else way(p) for p in points]

    def ring_of(points: Sequence[Any], way: Any) -> Floats:
        return spline([way(p) for p in points], STEPS, closed=True)

    lines: dict[str, list[Floats]] = {}
    control: list[Point] = []
    spans: list[tuple[str, int, int]] = []
    for name in RING:
        part = head if name in head["outline"] else body
        zone, points = part["outline"][name]
        found = placed(points, part)
        spans.append((zone, len(control), len(control) + len(found) - 1))
        control += found[:-1]
    outline = spline(control, STEPS, closed=True)
    whole = np.concatenate([outline, outline[:1]])
    for zone, first, last in spans:
        lines.setdefault(zone, []).append(whole[first * STEPS : last * STEPS + 1])
    for part in (head, body):
        for pair, points in part["borders"].items():
            border = spline(placed(points, part), STEPS)
            for zone in pair.split("/"):
                lines.setdefault(zone, []).append(border)
    zones = {zone: join(pieces) for zone, pieces in lines.items()}
    zones["ears"] = ring_of(head[f"ear_{ears}"], move.head)
    zones["tail"] = ring_of(data["tails"][tail], move.body)
    eye = move.head(head["eye"])
    return Shape(
        withers=move.body(body["nodes"]["withers"])[1],
        outline=outline,
        zones=zones,
        far=tuple((zone, zones[zone] + np.array(FAR_SHIFT[leg])) for zone, leg in FAR),
        saddle=ring_of(data["saddle"], move.body),
        eye=(eye[0], eye[1], head["eye_size"] * move.values["head"]),
        nose=ring_of(head["nose"], move.head),
        nostril=spline([move.head(p) for p in head["nostril"]], STEPS),
        mouth=spline([move.head(p) for p in head["mouth"]], STEPS),
        lie=np.array(
            [move.lie(p, move.head, move.carriage) for p in head["lie"]]
            + [move.lie(p, move.body) for p in data["lie"]]
        ),
        ear_lie=np.array([move.lie(p, move.head, move.carriage) for p in head["ear_lie"][ears]]),
        tail_lie=np.array([move.lie(p, move.body) for p in data["tail_lie"][tail]]),
        bumps=np.array(
            [(*move.head(p[:2]), *p[2:]) for p in head["bumps"]]
            + [(*move.body(p[:2]), *p[2:]) for p in data["bumps"]]
        ),
    )


class _Build:
    """Moves the control points of the square build to where another build has them."""

    def __init__(self, values: Mapping[str, Any]) -> None:
        self.values = values
        self.carriage = float(values["carriage"])
        angle = math.radians(self.carriage)
        self.turn = (math.cos(angle), math.sin(angle))

    def height(self, y: float) -> float:
        leg, depth = self.values["leg"], self.values["depth"]
        if y <= FOOT_TOP:
            return y
        if y <= ELBOW:
            return float(FOOT_TOP + leg * (y - FOOT_TOP))
        elbow = FOOT_TOP + leg * (ELBOW - FOOT_TOP)
        if y <= 100.0:
            return float(elbow + depth * (y - ELBOW))
        return float(elbow + depth * (100.0 - ELBOW) + y - 100.0)

    def body(self, point: Sequence[float]) -> Point:
        """A point of the trunk, neck, legs or tail."""
        x, y = point
        leg = self.values["leg"]
        tuck = self.values["tuck"] * math.exp(-(((x - 97.0) / 13.0) ** 2) - ((y - 63.0) / 8.0) ** 2)
        if y < ELBOW:
            axis = 56.4 if x < 85.0 else 120.0
            strength = min(1.0, (ELBOW - y) / 20.0)
            x += (self.values["bone"] - 1.0) * strength * (x - axis)
            if x > 85.0 and leg < 1.0:
                x -= HOCK_TUCK * (1.0 - leg) * math.exp(-(((y - 30.0) / 9.0) ** 2)) * (x - 118.0)
        rise = min(max((y - 92.0 + 0.5 * (60.0 - x)) / 34.0, 0.0), 1.0) if x < 64.0 else 0.0
        dx, dy = self.values["neck"]
        fade = rise * rise * (3.0 - 2.0 * rise)
        return self._long(x) + fade * dx, self.height(y + tuck) + fade * dy

    def _long(self, x: float) -> float:
        trunk = self.values["trunk"]
        stretched = min(max(x, TRUNK_FROM), TRUNK_TO) - TRUNK_FROM
        return float(x + (trunk - 1.0) * stretched)

    def head(self, point: Sequence[float]) -> Point:
        """A point of the head's own frame (u, v), placed on the neck."""
        u, v = point
        values = self.values
        dome = math.exp(-(((u - 28.0) / 8.0) ** 2)) * (1.0 if v > -3.0 else max(0.0, 1.0 + (v + 3.0) / 6.0))
        stop = 1.0 / (1.0 + math.exp(-(u - STOP_AT) * 0.9))
        if v < 0.0 and u < 30.0:
            v *= 1.0 + (values["jaw"] - 1.0) * min(1.0, (30.0 - u) / 12.0)
        v += values["dome"] * dome - values["stop"] * (1.0 - stop)
        if u < STOP_AT:
            u = STOP_AT + values["muzzle"] * (u - STOP_AT)
        u = HEAD_PIVOT[0] + values["head"] * (u - HEAD_PIVOT[0])
        v = HEAD_PIVOT[1] + values["head"] * (v - HEAD_PIVOT[1])
        # turn about the pivot, which sits where the square dog at 15 degrees has it
        c, s = math.cos(math.radians(15.0)), math.sin(math.radians(15.0))
        px = HEAD_AT[0] + c * HEAD_PIVOT[0] - s * HEAD_PIVOT[1]
        py = HEAD_AT[1] + s * HEAD_PIVOT[0] + c * HEAD_PIVOT[1]
        du, dv = u - HEAD_PIVOT[0], v - HEAD_PIVOT[1]
        dx, dy = values["neck"]
        return (
            px + dx + self.turn[0] * du - self.turn[1] * dv,
            self.height(py) + dy + self.turn[1] * du + self.turn[0] * dv,
        )

    @staticmethod
    def lie(anchor: Sequence[float], way: Any, turn: float = 0.0) -> tuple[float, float, float, float]:
        """An anchor (x, y, degrees) as (x, y, unit vector)."""
        x, y = way(anchor[:2])
        angle = math.radians(anchor[2] + turn)
        return x, y, math.cos(angle), math.sin(angle)
