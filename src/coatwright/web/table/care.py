"""What stands beside the pulling: the order of the zones, the list of feet and hygiene, words that are tapped.

Common practice in the trade, no published source.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil
from typing import Any

from coatwright.patterns.zones import zones
from coatwright.salon.cautions import SCISSORS
from coatwright.web.pages.visit.form import REACTIONS

HEAD = ("skull", "foreface", "ears", "cheeks", "throat")
"""Zones of the head: they wait until the dog is calm, and are not left to a tired one."""

HYGIENE = (
    ("nails", "Nails", "Shorten a little at a time; stop before the quick. Styptic within reach."),
    (
        "pads",
        "Hair between the pads",
        "Only what stands out between them; the blades flat, never over a pad.",
    ),
    ("ears", "Inside of the ears", "Look and smell. Red, dark or smelling: leave it, and tell the owner."),
    ("eyes", "Corners of the eyes", "Wipe from the inner corner outwards; no blade near an eye."),
    ("teeth", "Teeth and gums", "Look only; tell the owner what you see."),
    ("vent", "Round the vent", "Wipe clean; a few hairs at most, never close."),
)
"""What is looked after at a visit whatever is pulled: key, name, and how."""

REACTION_WORDS = REACTIONS[1:]
SKIN_WORDS = (
    ("sound", ""),
    ("flaky", "caution"),
    ("red", "stop"),
    ("pinpoints of blood", "stop"),
    ("scab or sore", "stop"),
    ("lump", "stop"),
    ("parasites", "stop"),
)
"""What the skin may show, and how grave it is: nothing of it is a finding, a vet says what it is."""
EASE_WORDS = (("easy", "comes easily"), ("firm", "with a firm pull"), ("hard", "only with force"))


def working_order(keys: Iterable[str]) -> tuple[str, ...]:
    """The zones in the order in which they are proposed.

    The body first, from the least tender on; the head once the dog has settled, after half of the body; tender
    zones never first, never one after the other while another zone is left, spread over what remains.
    """
    wanted = set(keys)
    table = [zone for zone in zones().values() if zone.key in wanted]
    tender = [zone.key for zone in table if zone.tender]
    head = [zone.key for zone in table if not zone.tender and zone.key in HEAD]
    body = [zone.key for zone in table if not zone.tender and zone.key not in HEAD]
    # as many others must be left as there are tender zones, where there are so many
    half = max(1, min((len(body) + 1) // 2, len(body) + len(head) - len(tender)))
    found, rest, placed = body[:half], head + body[half:], 0
    for number, key in enumerate(tender, start=1):
        until = ceil(number * len(rest) / (len(tender) + 1))
        found += [*rest[placed:until], key]
        placed = max(placed, until)
    return (*found, *rest[placed:])


def care_items() -> list[dict[str, Any]]:
    """Feet with the scissors rule, single hairs for the shape, and hygiene."""
    found = []
    for zone in zones().values():
        if zone.work == "scissors":
            found.append(
                {"key": f"scissors_{zone.key}", "name": zone.name, "how": zone.tip, "rule": SCISSORS.text}
            )
        elif zone.work == "tidy":
            found.append({"key": f"tidy_{zone.key}", "name": f"{zone.name}, tidied", "how": zone.tip})
    found += [{"key": key, "name": name, "how": how} for key, name, how in HYGIENE]
    return found
