"""A photograph of a dog made small enough to keep: upright, and without what its file tells."""

from __future__ import annotations

import io

from coatwright.paper.photo import MOST_PIXELS, opened, too_many, turn_of, turned

LONGEST = 2400
"""Pixels of the longer side."""
QUALITY = 85


def reduced(data: bytes, *, longest: int = LONGEST, quality: int = QUALITY) -> tuple[bytes, int, int]:
    """The photograph as JPEG, and its width and height in pixels.

    It is turned the way up that its file tells and keeps nothing else of it: no place, no time, no camera. Raises
    :class:`~coatwright.paper.photo.PhotoError` for what is no photograph.
    """
    from PIL.Image import Resampling

    with opened(data, "photo") as image:
        if image.width * image.height > MOST_PIXELS:
            raise too_many("photo")
        turn = turn_of(image, data)
        image.draft("RGB", (longest, longest))
        image.load()
        upright = turned(image, turn).convert("RGB")
        upright.thumbnail((longest, longest), Resampling.LANCZOS)
        upright.info.clear()
        plain = io.BytesIO()
        upright.save(plain, "JPEG", quality=quality, optimize=True)
        return plain.getvalue(), upright.width, upright.height
