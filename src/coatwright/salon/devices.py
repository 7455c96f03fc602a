"""Tablets that may speak to this desk: paired once with a code, known by a token, taken off the list at will.

Kept in a folder beside the records that only its owner may read, and in no backup: who may come in is this machine's
affair, and a stolen backup opens nothing. Of tokens, which are random, a digest is kept; of PINs, which are short, an
Argon2id hash (RFC 9106), and after some wrong ones the door stays shut for a while, longer each time.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from coatwright.errors import InputError, NotKept, OutOfRange, StoreError, UnknownName
from coatwright.salon.attachments import write_whole
from coatwright.salon.checks import check_name
from coatwright.salon.store import Store, now_utc

KINDS = ("table", "desk")
"""What a device may do: tap at the table, or use every page but this one."""
LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Of codes: none that is taken for another."""
CODE_LENGTH = 8
CODE_LASTS = timedelta(minutes=10)
CODE_TRIES = 10
"""Wrong codes after which every open code is void."""
SEEN_EVERY = timedelta(hours=1)
"""How often it is written down that a device was here."""
PIN_TRIES = 5
PIN_WAIT = timedelta(minutes=1)
"""After so many wrong PINs nobody can try for so long; twice as long after each further wrong one, at most a day."""
PIN_LENGTH = (4, 8)
PIN_PASSES, PIN_KIBIBYTES, PIN_LANES = 2, 19_456, 1
"""Argon2id in 19 MiB: the least that OWASP's password storage cheat sheet advises (from memory)."""
FILE = "devices.json"


class NotPaired(InputError):  # noqa: N818 - reads as what it is
    """A device that this desk does not know, or no longer."""


class ShutOut(InputError):  # noqa: N818
    """Too many wrong PINs."""


@dataclass(frozen=True, slots=True)
class Device:
    """A paired device. ``token`` is the SHA-256 of what it shows, ``who`` the person who works with it."""

    id: str
    name: str
    kind: str
    token: str
    paired: str
    seen: str = ""
    revoked: str = ""
    who: str = ""

    @property
    def good(self) -> bool:
        """Whether it may still come in."""
        return not self.revoked


@dataclass(frozen=True, slots=True)
class Code:
    """A code that pairs one device of a kind, once, until it expires."""

    text: str
    kind: str
    until: datetime

    @property
    def shown(self) -> str:
        """In two halves, as one reads it aloud."""
        return f"{self.text[: CODE_LENGTH // 2]}-{self.text[CODE_LENGTH // 2 :]}"


@dataclass(frozen=True, slots=True)
class Pin:
    """A person's PIN: its hash, the wrong ones since the last right one, and until when nobody may try."""

    hash: str
    wrong: int = 0
    shut: str = ""


class Devices:
    """The paired devices and PINs in a folder. Safe to share between threads of one process."""

    def __init__(self, folder: Path, clock: Callable[[], datetime] = now_utc) -> None:
        self.folder = folder
        self._clock = clock
        self._lock = threading.Lock()
        self._pin_lock = (
            threading.Lock()
        )  # apart, since checking a PIN takes long and every request asks for devices
        self._codes: dict[str, Code] = {}
        self._wrong_codes = 0
        self._devices, self._pins = _read(folder / FILE)

    @classmethod
    def of(cls, store: Store) -> Devices:
        """Those of a store's desk, in ``salon-tablets`` beside ``salon.db``."""
        return cls(folder_of(store), store.clock)

    # --- pairing ------------------------------------------------------------------------------------------

    def new_code(self, kind: str = "table") -> Code:
        """A code for one more device; it is kept nowhere and ends with the program."""
        if kind not in KINDS:
            raise UnknownName.of("kind of device", kind, KINDS)
        text = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
        code = Code(text, kind, self._now() + CODE_LASTS)
        with self._lock:
            self._codes = {key: each for key, each in self._codes.items() if each.until > self._now()}
            self._codes[_digest(text)] = code
            self._wrong_codes = 0
        return code

    def pair(self, code: str, name: str) -> tuple[Device, str]:
        """Take a device in; it and the token that it must show from now on, which is told this once.

        Raises :class:`NotPaired` for a code that is wrong, used or too old.
        """
        check_name(name, "The tablet's name")
        given = _digest(plain_code(code))
        with self._lock:
            known = self._codes.pop(given, None)
            if known is None or known.until <= self._now():
                self._wrong_codes += 1
                if self._wrong_codes >= CODE_TRIES:
                    self._codes.clear()
                raise NotPaired(
                    "This code is not known: it was used already, is older than ten minutes, or was misread.",
                    where="code",
                    remedy="Make a new one at the salon's computer, on the page Tablets.",
                )
            token = secrets.token_urlsafe(32)
            device = Device(
                secrets.token_hex(4), name.strip(), known.kind, _digest(token), self._now().isoformat()
            )
            self._devices[device.id] = device
            try:
                self._write()
            except NotKept:
                del self._devices[device.id]
                raise
        return device, token

    def known(self, token: str) -> Device | None:
        """The device that shows a token, revoked or not; None when there is none."""
        digest = _digest(token)
        with self._lock:
            found = [each for each in self._devices.values() if hmac.compare_digest(each.token, digest)]
            if not found:
                return None
            device, now = found[0], self._now()
            if device.good and (not device.seen or now - datetime.fromisoformat(device.seen) > SEEN_EVERY):
                device = self._devices[device.id] = replace(device, seen=now.isoformat())
                with suppress(NotKept):  # a full disk keeps nobody out
                    self._write()
            return device

    def devices(self) -> list[Device]:
        """All, the newest first; revoked ones too."""
        with self._lock:
            return sorted(self._devices.values(), key=lambda each: each.paired, reverse=True)

    def revoke(self, id: str) -> Device:
        """Let a device in no more, from its next request on."""
        with self._lock:
            if id not in self._devices:
                raise UnknownName.of("device", id, self._devices)
            device = self._devices[id]
            if device.good:
                device = self._devices[id] = replace(device, revoked=self._now().isoformat())
                self._write()
            return device

    def works_with(self, id: str, person: str) -> None:
        """Remember who works with a device."""
        with self._lock:
            if id in self._devices and self._devices[id].who != person:
                self._devices[id] = replace(self._devices[id], who=person)
                self._write()

    # --- PINs ---------------------------------------------------------------------------------------------

    def set_pin(self, person: str, pin: str) -> None:
        """Give a person a PIN of 4 to 8 digits, or none with ""."""
        if pin and not (pin.isascii() and pin.isdigit() and PIN_LENGTH[0] <= len(pin) <= PIN_LENGTH[1]):
            raise OutOfRange(
                "This is no PIN.", where="PIN", remedy=f"Give {PIN_LENGTH[0]} to {PIN_LENGTH[1]} digits."
            )
        if pin and (len(set(pin)) == 1 or pin in "01234567890" or pin in "09876543210"):
            raise OutOfRange(
                "This PIN is the first that anybody would try.", where="PIN", remedy="Choose another one."
            )
        hashed = _hasher().hash(pin) if pin else ""
        with self._pin_lock:
            self._put_pin(person, Pin(hashed) if pin else None)

    def has_pin(self, person: str) -> bool:
        """Whether a person has a PIN."""
        return person in self._pins

    def check_pin(self, person: str, pin: str) -> None:
        """Let a person in; raises :class:`OutOfRange` for a wrong PIN and :class:`ShutOut` after too many.

        A person without a PIN needs none.
        """
        from argon2.exceptions import VerifyMismatchError

        with self._pin_lock:
            known = self._pins.get(person)
            if known is None:
                return
            now = self._now()
            if known.shut and now < datetime.fromisoformat(known.shut):
                left = datetime.fromisoformat(known.shut) - now
                raise ShutOut(
                    "There were too many wrong PINs.",
                    where="PIN",
                    remedy=f"Try again in {_waited(left)}, or set a new PIN at the salon's computer.",
                )
            try:
                _hasher().verify(known.hash, pin.encode("utf-8", "replace"))
            except VerifyMismatchError:
                wrong = known.wrong + 1
                shut = ""
                if wrong >= PIN_TRIES:
                    wait = min(PIN_WAIT * 2 ** min(wrong - PIN_TRIES, 16), timedelta(days=1))
                    shut = (now + wait).isoformat()
                self._put_pin(person, replace(known, wrong=wrong, shut=shut))
                raise OutOfRange(
                    "This is not the PIN.", where="PIN", remedy="Try again; after five it has to wait."
                ) from None
            if known.wrong or known.shut:
                self._put_pin(person, Pin(known.hash))

    def _put_pin(self, person: str, pin: Pin | None) -> None:
        with self._lock:
            if pin is None:
                self._pins.pop(person, None)
            else:
                self._pins[person] = pin
            self._write()

    def _now(self) -> datetime:
        return self._clock().astimezone(UTC)

    def _write(self) -> None:
        table = {
            "version": 1,
            "devices": [asdict(each) for each in self._devices.values()],
            "pins": {person: asdict(pin) for person, pin in self._pins.items()},
        }
        private_folder(self.folder)
        write_private(self.folder / FILE, json.dumps(table, indent=1, ensure_ascii=False).encode())


def folder_of(store: Store) -> Path:
    """Where devices and certificates of a store's desk are kept."""
    from coatwright.salon.engines import data_folder

    if store.url.get_backend_name() == "sqlite":
        file = Path(str(store.url.database))
        return file.with_name(f"{file.stem}-tablets")
    return data_folder() / "tablets"


def private_folder(folder: Path) -> None:
    """Make a folder that only its owner can look into."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if os.name != "nt":
            folder.chmod(0o700)
    except OSError as error:
        raise NotKept(
            f"The folder of the tablets cannot be made: {error.strerror or error}.",
            where=str(folder),
            remedy="Make room, or make the folder above it writable.",
        ) from error


def write_private(path: Path, data: bytes) -> None:
    """Write a file that only its owner can read, whole or not at all (``mkstemp`` makes it with 0600)."""
    try:
        write_whole(path, data)
    except OSError as error:
        raise NotKept(
            f"It cannot be kept: {error.strerror or error}.",
            where=str(path),
            remedy="Make room on the disk, or make the folder writable.",
        ) from error


def plain_code(code: str) -> str:
    """A code as it was made, from how somebody typed it."""
    return "".join(letter for letter in code.upper() if letter.isascii() and letter.isalnum())


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


def _hasher() -> Any:
    from argon2 import PasswordHasher

    return PasswordHasher(time_cost=PIN_PASSES, memory_cost=PIN_KIBIBYTES, parallelism=PIN_LANES)


def _waited(left: timedelta) -> str:
    minutes = -(-int(left.total_seconds()) // 60)
    return f"{minutes} min" if minutes < 90 else f"{-(-minutes // 60)} h"


def _read(path: Path) -> tuple[dict[str, Device], dict[str, Pin]]:
    try:
        table = json.loads(path.read_text(encoding="utf-8"))
        devices = {row["id"]: Device(**row) for row in table["devices"]}
        return devices, {person: Pin(**row) for person, row in table["pins"].items()}
    except FileNotFoundError:
        return {}, {}
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise StoreError(
            f"The list of paired tablets cannot be read: {error}.",
            where=str(path),
            remedy="Move the file away; every tablet then has to be paired again.",
        ) from error
