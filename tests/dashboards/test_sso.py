"""Single sign-on by OpenID Connect: a real server of screens, a real provider, a real browser."""

import http.client
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from cryptography.hazmat.primitives.asymmetric import rsa
from playwright.sync_api import Browser

from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.refusals import refusals
from tests.support.commands import refused, succeed
from tests.support.openid import CLIENT, SECRET, OpenIdProvider, openid_provider
from tests.support.screens import browser, served
from tests.support.waiting import wait_for

__all__ = ["browser"]

pytest.importorskip("authlib", reason="single sign-on needs pip install 'holdwatch[sso]'")
pytestmark = [pytest.mark.browser, pytest.mark.timeout(280)]

INES = {"sub": "u-1", "email": "Ines@linden.example", "email_verified": True}


@dataclass
class Kitchen:
    """A server of screens with one manager, and the provider it asks."""

    data: Path
    port: int
    provider: OpenIdProvider

    def follow(self, path: str = "/sign-in/sso?next=/findings", *, forget: bool = False) -> tuple[int, str, str]:
        """Walk the way of a browser from a link on; return the last status, its address and its text."""
        cookies: dict[str, str] = {}
        url = f"http://127.0.0.1:{self.port}{path}"
        for _ in range(6):
            parts = urlsplit(url)
            ours = parts.port == self.port
            connection = http.client.HTTPConnection(parts.hostname or "", parts.port, timeout=20)
            sent = "; ".join(f"{name}={value}" for name, value in cookies.items()) if ours else ""
            connection.request("GET", f"{parts.path}?{parts.query}", headers={"Accept": "text/html", "Cookie": sent})
            answer = connection.getresponse()
            text = answer.read().decode()
            for name, value in answer.getheaders():
                if ours and name.lower() == "set-cookie" and not forget:
                    said, _, coded = value.partition(";")[0].partition("=")
                    cookies[said] = coded
            connection.close()
            where = answer.getheader("Location")
            if where is None:
                return answer.status, parts.path, text
            url = where if "://" in where else f"http://127.0.0.1:{self.port}{where}"
        raise AssertionError("it went round and round")

    def refused(self) -> list[str]:
        """Return the reasons of every refused try."""
        store = open_store(store_url(self.data, None))
        with store.read() as session:
            found = [each.why for each in refusals(session) if each.what == "sign in by single sign-on"]
        store.close()
        return found


@pytest.fixture(scope="module")
def serving(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kitchen]:
    """Screens with a manager whose account is ines@linden.example, and a cook without one."""
    with openid_provider() as provider, served(tmp_path_factory.mktemp("sso")) as (data, port):
        kitchen = Kitchen(data, port, provider)
        for name, initials, role in (("Ines Okafor", "IO", "manager"), ("Tomas Ek", "TE", "cook")):
            succeed("person", "add", name, "--initials", initials, "--role", role, "--data", data)
        succeed("person", "sso", "IO", "ines@linden.example", "--data", data)
        (data / "secrets.toml").write_text(
            f'[auth]\nname = "the group"\nclient_id = "{CLIENT}"\nclient_secret = "{SECRET}"\n'
            f'server_metadata_url = "{provider.url}/.well-known/openid-configuration"\n'
        )
        wait_for(lambda: kitchen.follow("/batches")[1] == "/sign-in", within_s=20, what="the door to close")
        yield kitchen


@pytest.fixture
def kitchen(serving: Kitchen) -> Kitchen:
    """The same, with Ines before the provider, who is honest."""
    serving.provider.claims, serving.provider.signs_with, serving.provider.wrong_nonce = dict(INES), None, False
    return serving


def test_a_verified_address_signs_its_person_in(kitchen: Kitchen) -> None:
    """However it is capitalised; the browser comes where it wanted to go."""
    assert "Sign in with the group" in kitchen.follow("/sign-in")[2]
    status, where, _ = kitchen.follow()
    assert (status, where) == (200, "/findings")
    assert kitchen.provider.handed_out > 0


def test_a_subject_signs_its_person_in(kitchen: Kitchen) -> None:
    """Where the provider tells no address; exactly as it stands."""
    succeed("person", "sso", "TE", "u-2", "--data", kitchen.data)
    kitchen.provider.claims = {"sub": "u-2"}
    assert kitchen.follow()[:2] == (200, "/findings")
    kitchen.provider.claims = {"sub": "U-2"}
    assert kitchen.follow()[0] == 403


@pytest.mark.parametrize(
    ("claims", "words"),
    [
        ({"sub": "u-9", "email": "bo@linden.example", "email_verified": True}, "nobody here has that address"),
        ({**INES, "email_verified": False}, "does not say that Ines@linden.example is verified"),
        ({"sub": "u-1", "email": "ines@linden.example"}, "does not say that ines@linden.example is verified"),
        ({**INES, "email_verified": "true"}, "does not say"),
        ({"sub": "u-9"}, "knows u-9, and nobody here"),
        ({**INES, "aud": "another program"}, "single sign-on did not work"),
        ({**INES, "iss": "http://elsewhere.example"}, "single sign-on did not work"),
        ({**INES, "exp": 1_000_000_000}, "single sign-on did not work"),
    ],
)
def test_who_is_no_person_here_is_refused_in_words(kitchen: Kitchen, claims: dict[str, object], words: str) -> None:
    """And kept."""
    kitchen.provider.claims = claims
    status, _, text = kitchen.follow()
    assert status == 403
    assert words in text
    assert "Traceback" not in text
    assert any(words in why for why in kitchen.refused())


def test_what_the_provider_did_not_sign_for_this_sign_in_is_refused(kitchen: Kitchen) -> None:
    """Another's key, an answer to another sign-in, and a way back that this browser did not begin."""
    kitchen.provider.signs_with = rsa.generate_private_key(65537, 2048)
    assert kitchen.follow()[0] == 403
    kitchen.provider.signs_with, kitchen.provider.wrong_nonce = None, True
    assert kitchen.follow()[0] == 403
    kitchen.provider.wrong_nonce = False
    assert "not begun on this browser" in kitchen.follow(forget=True)[2]
    assert kitchen.follow("/sign-in/sso/back?code=x&state=y")[0] == 403


def test_a_provider_that_is_down_leaves_the_pin(kitchen: Kitchen) -> None:
    """In words, with the way back."""
    path = kitchen.data / "secrets.toml"
    kept = path.read_text()
    try:
        path.write_text(kept.replace(kitchen.provider.url, "http://127.0.0.1:9"))
        status, _, text = kitchen.follow()
        assert (status, "sign in with your PIN" in text) == (403, True)
        path.write_text('[auth]\nclient_id = "x"\n')
        assert "lacks client_secret, server_metadata_url" in kitchen.follow("/sign-in")[2]
    finally:
        path.write_text(kept)


def test_an_account_is_one_persons(kitchen: Kitchen) -> None:
    """Set by whoever enters people."""
    assert "an account is one person's" in refused("person", "sso", "TE", "INES@linden.example", "--data", kitchen.data)


def test_in_a_browser_the_groups_account_opens_the_pages_and_decides_nothing(
    kitchen: Kitchen, browser: Browser
) -> None:
    """It takes the place of the PIN for signing in alone: a decision still asks for it."""
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    page = context.new_page()
    page.goto(f"http://127.0.0.1:{kitchen.port}/setup")
    page.get_by_role("link", name="Sign in with the group").tap()
    page.get_by_text("Ines Okafor (manager)").wait_for(timeout=60_000)
    page.get_by_text("Take into force from now on").wait_for(timeout=60_000)
    page.get_by_label("PIN").first.wait_for(state="attached", timeout=60_000)
    context.close()
