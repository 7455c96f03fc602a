"""A tablet in the network: paired over TLS, its page installed, then taken off the list and paired again."""

from __future__ import annotations

import base64
import hashlib
import re
import urllib.parse
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import BrowserContext, Error, Page, expect

from coatwright.salon.authority import Authority
from coatwright.salon.devices import folder_of
from coatwright.salon.store import Store
from tests.e2e.test_table import all_sent, dogs_shown, installed, launched, ready, tap_log
from tests.faults.table_salon import started_desk, visit
from tests.web.test_listening import two_ports

SIZE = (820, 1180)


@dataclass
class Salon:
    """A desk for tablets: its own address, the one for tablets, and what a browser is told to find and trust it."""

    local: str
    secure: str
    finds: str
    trusts: str

    def posts(self, path: str, **fields: str) -> str:
        """What the desk's own page says."""
        body = urllib.parse.urlencode(fields).encode()
        asked = urllib.request.Request(f"{self.local}{path}", body, {"origin": self.local})
        with urllib.request.urlopen(asked, timeout=30) as answer:
            text: str = answer.read().decode()
        return text

    def pairs(self, page: Page, name: str) -> None:
        """Pair from the form that the page shows."""
        code = re.search(r'class="code">([^<]+)<', self.posts("/tablets/code", kind="table"))
        assert code is not None
        page.locator("#code").fill(code[1])
        page.locator("#name").fill(name)
        page.locator("button.do").tap()
        ready(page)


@pytest.fixture(scope="module")
def salon(run_desk, tmp_path_factory) -> Iterator[Salon]:
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    folder, port = tmp_path_factory.mktemp("paired") / "salon", two_ports()
    with started_desk(run_desk, folder, "--tablets", "--tablet-port", str(port)) as url:
        with Store.open(folder) as store:
            authority = Authority(folder_of(store))
        served = x509.load_pem_x509_certificate(authority.folder.joinpath("server.pem").read_bytes())
        key = served.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
        digest = base64.b64encode(hashlib.sha256(key).digest()).decode()
        yield Salon(
            url,
            f"https://{authority.host}:{port}",
            f"--host-resolver-rules=MAP {authority.host} 127.0.0.1",
            f"--ignore-certificate-errors-spki-list={digest}",
        )


@pytest.fixture
def context(browser, salon, tmp_path) -> Iterator[BrowserContext]:
    made = launched(browser, tmp_path / "profile", SIZE, salon.finds, salon.trusts)
    yield made
    made.close()


def test_a_tablet_taken_off_the_list_is_paired_again_from_its_installed_page(context, salon):
    page = context.pages[0]
    page.goto(f"{salon.secure}/table")
    salon.pairs(page, "Arm by the window")
    dogs_shown(page, salon.secure)
    installed(page)
    page.locator("#groomer-0").tap()
    page.locator("#dog-bracken").tap()
    tap_log(page)
    all_sent(page)
    device = re.search(r'name="device" value="([^"]+)"', salon.posts("/tablets/code", kind="table"))
    assert device is not None
    salon.posts("/tablets/revoke", device=device[1])
    tap_log(page)
    expect(page.locator("#banner")).to_contain_text("Pair again")
    page.goto(f"{salon.secure}/table")  # by the worker, so that the desk cannot lead on
    ready(page)
    expect(page.locator("#banner")).to_contain_text("Pair again")
    page.locator("#to-pair").tap()
    salon.pairs(page, "Arm by the door")
    all_sent(page)
    expect(page.locator("#banner")).not_to_contain_text("Pair again")
    assert set(visit(salon.local, "bracken")["takes"]) == {"back", "ribs"}
    page.evaluate("location.hash = '#tablet'")
    expect(page.locator(".mast")).to_contain_text("Arm by the door")


def test_a_certificate_that_was_clicked_through_is_said_to_be_what_is_missing(browser, salon, tmp_path):
    """The click lets the page come; Chromium keeps workers back all the same."""
    context = launched(browser, tmp_path / "profile", SIZE, salon.finds)
    try:
        page = context.pages[0]
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            page.goto(f"{salon.secure}/pair")
        page.locator("#details-button").click()
        page.locator("#proceed-link").click()
        expect(page.locator("h1")).to_have_text("Pair this tablet")
        salon.pairs(page, "Not told yet")
        expect(page.locator("#banner")).to_contain_text("No restart")
        expect(page.locator("[role=alert]")).to_have_count(0)
        page.locator("#dog-sedge").tap()
        tap_log(page)
        all_sent(page)
    finally:
        context.close()
    assert set(visit(salon.local, "sedge")["takes"]) == {"back"}
