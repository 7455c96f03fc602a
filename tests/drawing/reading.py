"""Reads pictures back: elements of an SVG, strokes out of path data, boxes of words."""

import re
import xml.etree.ElementTree as ET

import numpy as np

from coatwright.drawing.axes import SIZE, box_of

SVG = "{http://www.w3.org/2000/svg}"
STEP = re.compile(r"([mlq])([^mlq]*)")
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def parsed(text):
    """The root of a picture; raises if it is not well-formed XML."""
    return ET.fromstring(text)


def every(root, name, **attributes):
    """All elements of a name with these attributes (``class_`` = one of the classes)."""
    found = []
    for element in root.iter(f"{SVG}{name}"):
        classes = element.get("class", "").split()
        if all(
            value in classes if key == "class_" else element.get(key.replace("_", "-")) == value
            for key, value in attributes.items()
        ):
            found.append(element)
    return found


def hairs(path):
    """Roots and tips, shape (n, 2) each, and lengths along the curve of all strokes of relative path data."""
    roots, tips, lengths = [], [], []
    at = np.zeros(2)
    t = np.linspace(0.0, 1.0, 33)[:, None]
    for letter, rest in STEP.findall(path):
        values = np.array([float(v) for v in NUMBER.findall(rest)])
        if letter == "m":
            at = at + values
            continue
        control, end = (values[:2], values[2:]) if letter == "q" else (values / 2, values)
        curve = 2 * t * (1 - t) * control + t**2 * end
        roots.append(at)
        tips.append(at + end)
        lengths.append(np.hypot(*np.diff(curve, axis=0).T).sum())
        at = at + end
    return np.array(roots), np.array(tips), np.array(lengths)


def boxes(root):
    """Boxes (left, top, right, bottom) of all words of a chart, with the words."""
    return [
        (
            element.text,
            box_of(
                float(element.get("x")),
                float(element.get("y")),
                element.text,
                element.get("text-anchor", "start"),
                float(element.get("font-size", SIZE)),
            ),
        )
        for element in every(root, "text")
    ]


def collisions(found):
    """Pairs of words whose boxes run into each other."""
    return [
        (one, other)
        for k, (one, a) in enumerate(found)
        for other, b in found[k + 1 :]
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]


def refused_by_a_strict_policy(root):
    """Style attributes, style or script elements, event handlers and references to elsewhere."""
    found = []
    for element in root.iter():
        name = element.tag.removeprefix(SVG)
        if name in ("style", "script", "image", "use", "foreignObject"):
            found.append(name)
        found += [key for key in element.attrib if key == "style" or key.startswith("on")]
        found += [v for k, v in element.attrib.items() if "://" in v and k != "xmlns"]
    return found
