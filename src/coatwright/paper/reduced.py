"""A photograph of a dog made small enough to keep: upright, and without what its file tells."""

from __future__ import annotations

import io
import warnings

from coatwright.paper.photo import FORMATS, MOST_PIXELS, PhotoError

LONGEST = 2400
"""Pixels of the longer side."""
QUALITY = 85


def reduced(data: bytes, *, longest: int = LONGEST, quality: int = QUALITY) -> tuple[bytes, int, int]:
    """The photograph as JPEG, and its width and height in pixels.

    It is turned the way up that its file tells and keeps nothing else of it: no place, no time, no camera. Raises
    :class:`~coatwright.paper.photo.PhotoError` for what is no photograph.
    """
    import pillow_heif
    from PIL import Image, ImageOps

    Image.init()
    pillow_heif.register_heif_opener(thumbnails=False)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=FORMATS) as image:
                if image.width * image.height > MOST_PIXELS:
                    raise PhotoError(
                        f"The photo has {image.width * image.height / 1e6:.0f} megapixels.",
                        where="photo",
                        remedy=f"Take it with at most {MOST_PIXELS / 1e6:.0f}.",
                        code="huge",
                    )
                image.draft("RGB", (longest, longest))
                upright = ImageOps.exif_transpose(image).convert("RGB")
                upright.thumbnail((longest, longest), Image.Resampling.LANCZOS)
                plain = io.BytesIO()
                upright.save(plain, "JPEG", quality=quality, optimize=True)
                return plain.getvalue(), upright.width, upright.height
    except PhotoError:
        raise
    except (OSError, EOFError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise PhotoError(
            "This is no photo that can be opened.",
            where="photo",
            remedy="Send a JPEG, PNG, WebP or HEIC file, whole.",
        ) from error
