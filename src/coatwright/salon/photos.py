"""Photos of dogs: named by what the tablet sent, kept as an upright JPEG without the place where it was taken.

A tablet names a photo by the SHA-256 of the bytes that it sends. What is kept has been made smaller, so it has a name
of its own; an event ties the two together, and by it a backup finds the file.
"""

from __future__ import annotations

import hashlib

from coatwright.errors import OutOfRange, UnknownName
from coatwright.salon.attachments import Attachments
from coatwright.salon.events import event_of, stream_of
from coatwright.salon.history import SHA256
from coatwright.salon.store import Store
from coatwright.salon.taps import PhotoKept

SMALL = 480
"""Pixels of the longer side of a photo among others."""


def keep_photo(store: Store, sha: str, data: bytes) -> bool:
    """Keep a photo under the SHA-256 of its bytes; False when it is there already.

    Raises :class:`~coatwright.errors.OutOfRange` for bytes of another name, and
    :class:`~coatwright.paper.photo.PhotoError` for what is no photo.
    """
    from coatwright.paper.reduced import reduced

    if not SHA256.fullmatch(sha):
        raise OutOfRange(
            f"{sha[:40]!r} is no name of a photo.", where="photo", remedy="Name it by its SHA-256 in hex."
        )
    if hashlib.sha256(data).hexdigest() != sha:
        raise OutOfRange(
            "The bytes are not those of this name: some were lost on the way.",
            where="photo",
            remedy="Send the photo again.",
        )
    files = Attachments.of(store)
    known = store.state().photos.get(sha)
    if known is not None and files.has(known.file):
        return False
    plain, width, height = reduced(data)
    kept = PhotoKept(sha, files.put(plain, "jpg"), width, height)
    if known != kept:
        event = event_of("photo.kept", stream_of("photo", sha), kept, at=store.clock())
        store.change(lambda _: [event])
    return True


def photo(store: Store, sha: str, *, small: bool = False) -> bytes:
    """The JPEG of a photo, or a small one; raises :class:`UnknownName` when its bytes have not come yet."""
    from coatwright.paper.reduced import reduced

    known = store.state().photos.get(sha)
    if known is None:
        raise UnknownName(
            "This photo has not come from its tablet yet.",
            where="photo",
            remedy="See that the tablet is on and in the network.",
        )
    data = Attachments.of(store).get(known.file)
    return reduced(data, longest=SMALL, quality=80)[0] if small else data
