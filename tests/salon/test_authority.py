"""The salon's certificate authority, judged by OpenSSL and by the verifier of a library, neither of them ours."""

import ipaddress
import os
import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID

from coatwright.errors import StoreError
from coatwright.salon.authority import Authority, _builder, _new_key, private_addresses

ADDRESSES = ("192.168.7.20", "10.1.2.3")


@pytest.fixture
def authority(tmp_path):
    return Authority(tmp_path / "tablets")


def shake_hands(authority, certificate, key, name):
    """A real TLS handshake under a name, the client trusting the salon's authority alone."""
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(certificate, key)
    client = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    client.load_verify_locations(cadata=authority.pem.decode())
    one, other = socket.socketpair()

    def serve():
        try:
            server.wrap_socket(one, server_side=True).close()
        except (ssl.SSLError, OSError):
            one.close()

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        with client.wrap_socket(other, server_hostname=name) as secure:
            return secure.version()
    finally:
        other.close()
        thread.join(10)


@pytest.mark.parametrize("name", ["host", *ADDRESSES])
def test_a_tablet_that_trusts_the_authority_trusts_the_server_under_each_of_its_names(authority, name):
    served = authority.served(ADDRESSES)
    name = authority.host if name == "host" else name
    assert shake_hands(authority, served.certificate, served.key, name) == "TLSv1.3"


def test_under_another_name_it_is_not_trusted(authority):
    served = authority.served(ADDRESSES)
    with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
        shake_hands(authority, served.certificate, served.key, "other.local")


@pytest.mark.parametrize(
    ("name", "trusted"),
    [
        ("own", True),
        ("192.168.7.20", True),
        ("example.org", False),
        ("example.local", False),
        ("8.8.8.8", False),
    ],
)
def test_a_stolen_key_cannot_stand_in_for_the_world(authority, tmp_path, name, trusted):
    """OpenSSL holds certificates to the name constraints of their authority (RFC 5280, 4.2.1.10)."""
    name = authority.host if name == "own" else name
    key = _new_key()
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "stolen")])
    is_address = name.replace(".", "").isdigit()
    told = x509.IPAddress(ipaddress.ip_address(name)) if is_address else x509.DNSName(name)
    made = (
        _builder(subject, authority.certificate.subject, key, datetime.now(UTC), timedelta(days=9))
        .add_extension(x509.SubjectAlternativeName([told]), critical=False)
        .sign(authority._key, SHA256())
    )
    (tmp_path / "s.pem").write_bytes(made.public_bytes(Encoding.PEM))
    (tmp_path / "s.key").write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    if trusted:
        assert shake_hands(authority, tmp_path / "s.pem", tmp_path / "s.key", name)
    else:
        with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
            shake_hands(authority, tmp_path / "s.pem", tmp_path / "s.key", name)


def test_a_verifier_of_the_web_s_rules_takes_the_chain(authority):
    from cryptography.x509.verification import PolicyBuilder, Store

    leaf = x509.load_pem_x509_certificate(authority.served(ADDRESSES).certificate.read_bytes())
    verifier = (
        PolicyBuilder()
        .store(Store([authority.certificate]))
        .build_server_verifier(x509.DNSName(authority.host))
    )
    assert [each.subject for each in verifier.verify(leaf, [])] == [
        leaf.subject,
        authority.certificate.subject,
    ]


def test_the_authority_signs_nothing_but_servers(authority):
    basic = authority.certificate.extensions.get_extension_for_class(x509.BasicConstraints)
    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    constraints = authority.certificate.extensions.get_extension_for_class(x509.NameConstraints)
    assert constraints.critical
    assert authority.host in [each.value for each in constraints.value.permitted_subtrees]


def test_the_server_s_certificate_lasts_until_it_is_due(authority):
    now = datetime.now(UTC)
    first = authority.served(ADDRESSES, now).certificate.read_bytes()
    leaf = x509.load_pem_x509_certificate(first)
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=397)
    assert authority.served(ADDRESSES[::-1], now + timedelta(days=300)).certificate.read_bytes() == first
    renewed = authority.served(ADDRESSES, now + timedelta(days=340)).certificate.read_bytes()
    assert renewed != first
    assert authority.served(("192.168.7.21",), now).certificate.read_bytes() != renewed


def test_a_certificate_whose_key_was_lost_halfway_is_made_anew(authority):
    served = authority.served(ADDRESSES)
    served.key.write_bytes(b"half a key")
    served = authority.served(ADDRESSES)
    assert shake_hands(authority, served.certificate, served.key, authority.host)


def test_the_authority_stays_the_same_when_the_desk_starts_again(authority, tmp_path):
    again = Authority(tmp_path / "tablets")
    assert again.pem == authority.pem
    assert (again.host, again.fingerprint) == (authority.host, authority.fingerprint)
    assert Authority(tmp_path / "elsewhere").pem != authority.pem


@pytest.mark.skipif(os.name == "nt", reason="rights of another kind there")
def test_only_the_owner_can_read_the_keys(authority, tmp_path):
    authority.served(ADDRESSES)
    for file in (tmp_path / "tablets").iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_damaged_authority_is_told(authority, tmp_path):
    (tmp_path / "tablets" / "authority.key").write_bytes(b"damaged")
    with pytest.raises(StoreError) as caught:
        Authority(tmp_path / "tablets")
    assert "trust it anew" in caught.value.remedy


def test_only_private_addresses_are_served():
    for address in private_addresses():
        assert not address.startswith("127.")
