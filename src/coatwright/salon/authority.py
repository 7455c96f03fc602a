"""A certificate authority for one salon, so that its tablets can speak to this machine over TLS.

No authority of the world vouches for a name such as ``coatwright-k7wq.local``. So the salon has one of its own, which
each tablet is told to trust once. Name constraints (RFC 5280, section 4.2.1.10) bind it to that one name and to
private addresses: whoever stole its key could still not stand in for any site of the world.

- the authority: EC P-256, ten years, no authority below it
- the server's certificate: EC P-256, made anew before it runs out or when the machine's addresses change; 397 days,
  the most that browsers take of any certificate (CA/Browser Forum, ballot SC31 of 2020; from memory)
"""

from __future__ import annotations

import ipaddress
import secrets
import socket
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from coatwright.errors import StoreError
from coatwright.salon.devices import LETTERS, private_folder, write_private

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.x509 import Certificate

PRIVATE = (
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16"),  # RFC 1918
    *("169.254.0.0/16", "fe80::/10"),  # link-local: RFC 3927, RFC 4291
    "fc00::/7",  # unique local: RFC 4193
)
AUTHORITY_LASTS = timedelta(days=3650)
SERVER_LASTS = timedelta(days=397)
RENEWED_BEFORE = timedelta(days=60)
BEGAN_BEFORE = timedelta(days=1)
"""A certificate begins a day early, for tablets whose clock is behind."""


@dataclass(frozen=True, slots=True)
class Served:
    """What a server needs: the files of its certificate and key, and the names that it answers to."""

    certificate: Path
    key: Path
    names: tuple[str, ...]


class Authority:
    """The salon's authority in a folder that only its owner can read."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        private_folder(folder)
        self.name = self._named()
        self._key, self.certificate = self._made()

    @property
    def host(self) -> str:
        """The name under which tablets find this machine."""
        return f"{self.name}.local"

    @property
    def pem(self) -> bytes:
        """The authority's certificate, to be trusted, as text."""
        from cryptography.hazmat.primitives.serialization import Encoding

        return self.certificate.public_bytes(Encoding.PEM)

    @property
    def der(self) -> bytes:
        """The same as most tablets take it."""
        from cryptography.hazmat.primitives.serialization import Encoding

        return self.certificate.public_bytes(Encoding.DER)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate in pairs of hex digits, to be compared by eye."""
        from cryptography.hazmat.primitives.hashes import SHA256

        return self.certificate.fingerprint(SHA256()).hex(" ").upper()

    def served(self, addresses: Sequence[str], now: datetime | None = None) -> Served:
        """The server's certificate for this machine's name and addresses, made anew where that is due."""
        at = now or datetime.now(UTC)
        names = (self.host, *sorted(addresses))
        files = Served(self.folder / "server.pem", self.folder / "server.key", names)
        if self._due(files, at):
            self._issue(files, at)
        return files

    def _named(self) -> str:
        file = self.folder / "name"
        if file.exists():
            name = file.read_text(encoding="ascii", errors="replace").strip()
            if name.isascii() and name.replace("-", "").isalnum():
                return name
        name = "coatwright-" + "".join(secrets.choice(LETTERS) for _ in range(4)).lower()
        write_private(file, name.encode())
        return name

    def _made(self) -> tuple[EllipticCurvePrivateKey, Certificate]:
        from cryptography import x509
        from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
        from cryptography.hazmat.primitives.serialization import Encoding, load_pem_private_key

        key_file, file = self.folder / "authority.key", self.folder / "authority.pem"
        if not (key_file.exists() and file.exists()):
            key = _new_key()
            certificate = self._root(key, datetime.now(UTC))
            write_private(key_file, _key_pem(key))
            write_private(file, certificate.public_bytes(Encoding.PEM))
            return key, certificate
        try:
            found = load_pem_private_key(key_file.read_bytes(), None)
            if not isinstance(found, EllipticCurvePrivateKey):
                raise ValueError("the key is of another kind")
            return found, x509.load_pem_x509_certificate(file.read_bytes())
        except (OSError, ValueError) as error:
            raise StoreError(
                f"The salon's certificate authority cannot be read: {error}.",
                where=str(self.folder),
                remedy="Move the folder away; a new authority is made, and each tablet has to trust it anew.",
            ) from error

    def _root(self, key: EllipticCurvePrivateKey, at: datetime) -> Certificate:
        from cryptography import x509
        from cryptography.hazmat.primitives.hashes import SHA256
        from cryptography.x509.oid import NameOID

        subject = x509.Name(
            [x509.NameAttribute(NameOID.COMMON_NAME, f"Coatwright of this salon ({self.name})")]
        )
        permitted: list[x509.GeneralName] = [x509.DNSName(self.host)]
        permitted += [x509.IPAddress(ipaddress.ip_network(net)) for net in PRIVATE]
        made: Certificate = (
            _builder(subject, subject, key, at, AUTHORITY_LASTS)
            .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
            .add_extension(_usage(signs=True), critical=True)
            .add_extension(x509.NameConstraints(permitted, None), critical=True)
            .sign(key, SHA256())
        )
        return made

    def _due(self, files: Served, at: datetime) -> bool:
        from cryptography import x509
        from cryptography.hazmat.primitives.serialization import load_pem_private_key

        try:
            known = x509.load_pem_x509_certificate(files.certificate.read_bytes())
            key = load_pem_private_key(files.key.read_bytes(), None)
            names = known.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        except (OSError, ValueError, x509.ExtensionNotFound):
            return True
        told = {
            *names.get_values_for_type(x509.DNSName),
            *(str(each) for each in names.get_values_for_type(x509.IPAddress)),
        }
        return (
            known.issuer != self.certificate.subject
            or known.public_key() != key.public_key()
            or known.not_valid_after_utc - at < RENEWED_BEFORE
            or known.not_valid_before_utc > at
            or told != set(files.names)
        )

    def _issue(self, files: Served, at: datetime) -> None:
        from cryptography import x509
        from cryptography.hazmat.primitives.hashes import SHA256
        from cryptography.hazmat.primitives.serialization import Encoding
        from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

        key = _new_key()
        subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, self.host)])
        names: list[x509.GeneralName] = [x509.DNSName(self.host)]
        names += [x509.IPAddress(ipaddress.ip_address(each)) for each in files.names[1:]]
        certificate = (
            _builder(subject, self.certificate.subject, key, at, SERVER_LASTS)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(signs=False), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(x509.SubjectAlternativeName(names), critical=False)
            .add_extension(
                x509.AuthorityKeyIdentifier.from_issuer_public_key(self._key.public_key()), critical=False
            )
            .sign(self._key, SHA256())
        )
        write_private(files.key, _key_pem(key))
        write_private(files.certificate, certificate.public_bytes(Encoding.PEM))


def private_addresses() -> tuple[str, ...]:
    """The addresses of this machine in private networks, by which tablets beside it can reach it."""
    nets = [ipaddress.ip_network(net) for net in PRIVATE]
    found: set[str] = set()
    for family, probe in ((socket.AF_INET, "10.255.255.255"), (socket.AF_INET, "192.168.255.254")):
        with socket.socket(family, socket.SOCK_DGRAM) as asking:
            try:
                asking.connect((probe, 9))  # nothing is sent: the system only chooses the way
                found.add(str(asking.getsockname()[0]))
            except OSError:
                continue
    with suppress(OSError):
        found.update(str(row[4][0]) for row in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET))
    kept = [each for each in found if any(ipaddress.ip_address(each) in net for net in nets)]
    return tuple(sorted(kept))


def _new_key() -> EllipticCurvePrivateKey:
    from cryptography.hazmat.primitives.asymmetric import ec

    return ec.generate_private_key(ec.SECP256R1())


def _key_pem(key: EllipticCurvePrivateKey) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _usage(*, signs: bool) -> Any:
    from cryptography import x509

    return x509.KeyUsage(
        digital_signature=not signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs,
        crl_sign=signs,
        encipher_only=False,
        decipher_only=False,
    )


def _builder(subject: Any, issuer: Any, key: EllipticCurvePrivateKey, at: datetime, lasts: timedelta) -> Any:
    from cryptography import x509

    began = at - BEGAN_BEFORE
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(began)
        .not_valid_after(began + lasts)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )
