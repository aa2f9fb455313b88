"""The door of the screens and the page behind an alert's link, on a real server and in a real browser."""

import http.client
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Browser, Page

from holdwatch.clock import MS_PER_MINUTE, now_ms
from holdwatch.storage.alone import declare_alone, end_alone
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.events import record_event
from holdwatch.storage.findings import finding_numbered, open_finding
from holdwatch.storage.handling import acts_of, handling
from holdwatch.storage.people import end_person, person_named
from holdwatch.storage.refusals import refusals
from holdwatch.storage.secrets import REVIEW, link_token
from holdwatch.storage.signing import signatures, tries
from holdwatch.storage.tables import EventKind, FindingKind
from tests.support.commands import succeed
from tests.support.screens import browser, served
from tests.support.waiting import wait_for

__all__ = ["browser"]

pytestmark = [pytest.mark.browser, pytest.mark.timeout(280)]


@dataclass
class Kitchen:
    """A server of screens over a store with people in it."""

    data: Path
    port: int
    made: int = 0

    def ask(
        self, path: str, form: dict[str, str] | None = None, cookie: str = "", **headers: str
    ) -> tuple[int, dict[str, str], str]:
        """Return status, headers and text of one request, as a browser makes it; nothing is followed."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        sent = {"Accept": "text/html", "Cookie": cookie, **headers}
        if form is not None:
            sent["Content-Type"] = "application/x-www-form-urlencoded"
        connection.request("GET" if form is None else "POST", path, None if form is None else urlencode(form), sent)
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
        return answer.status, {name.lower(): value for name, value in answer.getheaders()}, text

    def sign_in(self, who: str, pin: str, **more: str) -> tuple[int, str]:
        """Sign in; return the status and the cookie, or what was said."""
        status, headers, text = self.ask("/sign-in", {"who": who, "pin": pin, "next": "/", **more})
        return status, headers.get("set-cookie", "").partition(";")[0] or text

    def finding(self, kind: FindingKind = FindingKind.DEVIATION) -> tuple[int, str]:
        """Make a finding; return its number and the path of its link."""
        self.made += 1
        store = open_store(store_url(self.data, None))
        with store.write() as session:
            row = open_finding(
                session,
                key=f"door {self.made}",
                kind=kind,
                subject="batch:1:1",
                title="Custard B-0412",
                reason="70 °F was not reached within 2 h",
                since_ms=now_ms() - 130 * MS_PER_MINUTE,
                now_ms=now_ms(),
                clause="3-501.14(A)(1)",
                source="FDA Food Code 2022, 3-501.14(A)(1)",
                verdict="missed",
            )
            token = link_token(session, row.id or 0, now_ms=now_ms())
        store.close()
        return row.id or 0, f"/f/{token}"

    def record(self, number: int) -> tuple[str, list[tuple[str, str, bool]]]:
        """Return the stage of a finding, and its entries as (what, by whom, whether signed)."""
        store = open_store(store_url(self.data, None))
        with store.read() as session:
            stage = handling(session, finding_numbered(session, number)).stage.value
            entries = acts_of(session, [number]).get(number, [])
            signed = signatures(session, [each.id or 0 for each in entries])
        store.close()
        return stage, [(str(each.facts.get("act")), each.by, each.id in signed) for each in entries]


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kitchen]:
    """A kitchen with a cook (PIN 2739), another who leaves, and a manager (8046)."""
    with served(tmp_path_factory.mktemp("kitchen")) as (data, port):
        place = Kitchen(data, port)
        assert place.ask("/")[0] == 200  # nobody is entered yet: the door stands open
        for name, initials, role, pin in (
            ("Ines Okafor", "IO", "manager", "8046"),
            ("Tomas Ek", "TE", "cook", "2739"),
            ("Bo Lind", "BL", "cook", "5128"),
        ):
            succeed("person", "add", name, "--initials", initials, "--role", role, "--data", data)
            command = [sys.executable, "-m", "holdwatch", "person", "pin", initials, "--data", str(data)]
            subprocess.run(command, input=f"{pin}\n", text=True, check=True, capture_output=True)
        wait_for(lambda: place.ask("/")[0] == 303, within_s=20, what="the door to close")
        yield place


@pytest.mark.parametrize("path", ["/", "/findings?finding=3", "/batches", "/static/index.html", "/no-such-page"])
def test_a_browser_that_is_not_signed_in_is_led_to_the_door(kitchen: Kitchen, path: str) -> None:
    """And back to where it wanted to go."""
    status, headers, text = kitchen.ask(path)
    assert (status, text) == (303, "")
    _, _, page = kitchen.ask(headers["location"])
    assert f'name="next" value="{path}"' in page.replace("&amp;", "&")


def test_everything_else_is_refused(kitchen: Kitchen) -> None:
    """A program gets no page, a socket is closed before it opens; only the liveness check answers."""
    assert kitchen.ask("/", Accept="*/*")[0] == 401
    upgrade = {
        "Connection": "Upgrade",
        "Upgrade": "websocket",
        "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",  # RFC 6455, section 1.3
    }
    assert kitchen.ask("/_stcore/stream", **upgrade)[0] == 403
    assert kitchen.ask("/_stcore/health")[0] == 200


def test_a_pin_opens_the_door(kitchen: Kitchen) -> None:
    """A wrong one does not, and nobody learns which part was wrong from the status."""
    status, said = kitchen.sign_in("Tomas Ek", "2738")
    assert status == 403
    assert "not the PIN of Tomas Ek" in said
    status, cookie = kitchen.sign_in("Tomas Ek", "2739")
    assert status == 303
    assert kitchen.ask("/", cookie=cookie)[0] == 200
    for forged in (f"{cookie}x", cookie.replace("holdwatch=", "holdwatch=e30."), "holdwatch=", "holdwatch=\x7f"):
        assert kitchen.ask("/", cookie=forged)[0] == 303


def test_the_kitchens_own_screen_is_signed_in_by_a_manager(kitchen: Kitchen) -> None:
    """It stays signed in for as long as a browser keeps a cookie."""
    assert "by a manager" in kitchen.sign_in("Tomas Ek", "2739", kitchen="yes")[1]
    _, headers, _ = kitchen.ask("/sign-in", {"who": "Ines Okafor", "pin": "8046", "next": "/", "kitchen": "yes"})
    assert "Max-Age=34560000" in headers["set-cookie"]  # 400 days
    assert "HttpOnly" in headers["set-cookie"]


def test_behind_a_proxy_with_tls_the_cookie_is_for_tls_alone(kitchen: Kitchen) -> None:
    """What the proxy on this machine says of the way to it is believed; every answer carries the headers of docs/proxy.md."""
    form = {"who": "Tomas Ek", "pin": "2739", "next": "/"}
    for said, secure in (({}, False), ({"X-Forwarded-Proto": "https", "X-Forwarded-For": "203.0.113.7"}, True)):
        _, headers, _ = kitchen.ask("/sign-in", form, **said)
        assert {"HttpOnly", "SameSite=lax"} <= set(headers["set-cookie"].split("; "))
        assert ("Secure" in headers["set-cookie"].split("; ")) is secure
        assert "img-src 'self' data: blob:" in headers["content-security-policy"]
        assert (headers["x-content-type-options"], headers["referrer-policy"]) == ("nosniff", "same-origin")


@pytest.mark.parametrize(
    "wanted", ["https://elsewhere.example/", "//elsewhere.example/", "/\\elsewhere.example", "/sign-in"]
)
def test_signing_in_leads_nowhere_else(kitchen: Kitchen, wanted: str) -> None:
    """A link that was sent cannot use the door to lead to another server."""
    _, headers, _ = kitchen.ask("/sign-in", {"who": "Tomas Ek", "pin": "2739", "next": wanted})
    assert headers["location"] == "/"


def test_whoever_left_is_signed_out(kitchen: Kitchen) -> None:
    """Within seconds, on every browser."""
    _, cookie = kitchen.sign_in("Bo Lind", "5128")
    assert kitchen.ask("/", cookie=cookie)[0] == 200
    store = open_store(store_url(kitchen.data, None))
    with store.write() as session:
        end_person(session, person_named(session, "BL"), now_ms=now_ms(), by="test")
    store.close()
    wait_for(lambda: kitchen.ask("/", cookie=cookie)[0] == 303, within_s=20, what="the door to close")


def test_a_link_opens_its_finding_and_nothing_else(kitchen: Kitchen) -> None:
    """Without signing in; a link that was changed, or is none, opens nothing."""
    number, link = kitchen.finding()
    status, headers, text = kitchen.ask(link)
    assert status == 200
    assert "Custard B-0412" in text
    assert "FDA Food Code 2022, 3-501.14(A)(1)" in re.sub("<[^>]+>", "", text)
    assert "your local code and inspector decide" in text
    assert "not confirmed with your authority" in text
    assert headers["x-content-type-options"] == "nosniff"
    assert kitchen.ask(f"/findings?finding={number}")[0] == 303
    for broken in (link[:-1], f"{link}x", "/f/12", "/f/eyJmIjoxfQ.x.y"):
        status, _, text = kitchen.ask(broken)
        assert status == 410
        assert "Custard" not in text


def test_a_link_takes_a_discard_without_a_pin_and_nothing_more(kitchen: Kitchen) -> None:
    """Throwing away must never wait; everything else is signed."""
    number, link = kitchen.finding()
    for form, words in (
        ({"do": "re-chill", "who": "Tomas Ek", "pin": ""}, "Tomas Ek"),
        ({"do": "discard", "who": "", "pin": ""}, "Say who you are"),
        ({"do": "discard", "who": "Tomas Ek", "pin": "1111"}, "not the PIN of Tomas Ek"),
        ({"do": "keep", "who": "Tomas Ek", "pin": "2739"}, "may not do this"),
        ({"do": "throw", "who": "Tomas Ek", "pin": "2739"}, "Say what becomes of the food"),
        ({"do": "discard", "who": "Somebody", "pin": ""}, "no person is called"),
    ):
        status, _, text = kitchen.ask(link, {"text": "", "check": "0", **form})
        assert status == 422
        assert words.lower() in text.lower()
    assert kitchen.record(number) == ("unseen", [])
    status, headers, _ = kitchen.ask(link, {"do": "discard", "who": "Tomas Ek", "pin": ""})
    assert status == 303
    assert "handled" in kitchen.ask(headers["location"])[2]
    assert kitchen.record(number) == ("handled", [("action", "Tomas Ek", False)])


def test_a_link_lets_somebody_outside_review_what_was_done_alone(kitchen: Kitchen) -> None:
    """Once it is over, with a manager's PIN; another purpose's token opens nothing, and every refusal is kept."""
    store = open_store(store_url(kitchen.data, None))
    with store.write() as session:
        event = declare_alone(session, person_named(session, "TE"), now_ms=now_ms(), by="Tomas Ek")
        record_event(session, EventKind.NOTE, at_ms=now_ms(), now_ms=now_ms(), by="Tomas Ek", text="<b>alone</b>")
        link = f"/r/{link_token(session, event.id or 0, now_ms=now_ms(), purpose=REVIEW)}"
    assert "once it is over" in kitchen.ask(link)[2]
    with store.write() as session:
        end_alone(session, now_ms=now_ms(), by="Tomas Ek")
    assert "&lt;b&gt;alone&lt;/b&gt;" in kitchen.ask(link)[2]
    assert kitchen.ask(f"/f/{link[3:]}")[0] == 410
    assert kitchen.ask(link, {"who": "Tomas Ek", "pin": "2739"})[0] == 422
    assert kitchen.ask(link, {"who": "Ines Okafor", "pin": "8046", "text": "looked"})[0] == 303
    assert "Reviewed by Ines Okafor" in kitchen.ask(link)[2]
    with store.read() as session:
        assert ("open a link", "phone") in {(each.what, each.place) for each in refusals(session)}
        assert [t.outcome for t in tries(session) if t.act == "verify"] == ["not-allowed", "right"]
    store.close()


def test_what_was_typed_into_a_finding_cannot_become_markup(kitchen: Kitchen) -> None:
    """A text is a text."""
    _, link = kitchen.finding()
    kitchen.ask(link, {"do": "discard", "who": "Tomas Ek", "pin": "", "text": "<script>alert(1)</script>"})
    assert "<script" not in kitchen.ask(link)[2]


def test_on_the_kitchens_tablet_a_shift_begins_in_three_touches(kitchen: Kitchen, browser: Browser) -> None:
    """Name, PIN, begin; from then on everything on every page is in that name, at 390 px as well."""
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    page = context.new_page()
    page.goto(f"http://127.0.0.1:{kitchen.port}/shift")
    page.get_by_label("Who").select_option("Ines Okafor")
    page.get_by_label("PIN", exact=True).fill("8046")
    page.get_by_label("This is the kitchen's own screen").check()
    page.get_by_role("button", name="Sign in").click()
    page.get_by_text("On shift here: nobody").wait_for(timeout=60_000)
    page.get_by_role("radio", name="Tomas Ek").or_(page.get_by_role("button", name="Tomas Ek")).first.tap()
    page.get_by_label("PIN", exact=True).fill("2739")
    page.get_by_role("button", name="Begin my shift").tap()
    page.get_by_text("On shift here: TE Tomas Ek").wait_for(timeout=60_000)
    page.get_by_role("button", name="TE leaves").wait_for(timeout=20_000)
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    low = page.evaluate(
        "[...document.querySelectorAll('button')].map(e => [e.innerText, e.getBoundingClientRect().height])"
        ".filter(([text, height]) => text && height > 0 && height < 44)"
    )
    assert low == []
    page.goto(f"http://127.0.0.1:{kitchen.port}/batches")
    page.get_by_text("On shift here: TE Tomas Ek").wait_for(timeout=60_000)
    page.get_by_text("TE · Tomas Ek").wait_for(timeout=20_000)
    context.close()


def test_guessing_on_the_phone_page_is_throttled(kitchen: Kitchen) -> None:
    """The tries are kept with their place."""
    _, link = kitchen.finding()
    said = [
        kitchen.ask(link, {"do": "keep", "who": "Ines Okafor", "pin": f"{n}111", "text": "x"})[2] for n in range(2, 7)
    ]
    assert "too many wrong pins" in said[-1].lower()
    said.append(kitchen.ask(link, {"do": "keep", "who": "Ines Okafor", "pin": "8046", "text": "x"})[2])
    assert "too many wrong pins" in said[-1].lower()
    store = open_store(store_url(kitchen.data, None))
    with store.read() as session:
        found = [(each.outcome, each.times) for each in tries(session) if each.place == "phone" and each.act == "keep"]
    store.close()
    assert found[-1] == ("too-soon", 3)
    assert [outcome for outcome, _ in found].count("wrong") == 3


def test_on_a_phone_four_touches_lead_from_the_link_to_a_signed_record(kitchen: Kitchen, browser: Browser) -> None:
    """At 390 px, without scrolling sideways, with nothing smaller to touch than a thumb."""
    number, link = kitchen.finding()
    page = browser.new_page(viewport={"width": 390, "height": 844}, has_touch=True)
    page.goto(f"http://127.0.0.1:{kitchen.port}{link}")
    _looks_right(page)
    page.get_by_label("Throw it away").tap()  # one
    page.get_by_label("Who").select_option("Tomas Ek")  # two
    page.get_by_label("PIN", exact=True).fill("2739")  # three
    page.get_by_role("button", name="Record it").tap()  # four
    page.get_by_text("Recorded. The finding is handled.").wait_for(timeout=20_000)
    page.close()
    assert kitchen.record(number) == ("handled", [("action", "Tomas Ek", True)])


def test_in_a_browser_the_door_leads_to_the_bench(kitchen: Kitchen, browser: Browser) -> None:
    """The pages and their socket work behind it, and signing out closes it."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.goto(f"http://127.0.0.1:{kitchen.port}/findings")
    page.get_by_label("Who").select_option("Tomas Ek")
    page.get_by_label("PIN", exact=True).fill("2739")
    page.get_by_role("button", name="Sign in").click()
    page.get_by_text("Open findings").wait_for(timeout=60_000)
    page.goto(f"http://127.0.0.1:{kitchen.port}/sign-out")
    page.get_by_role("button", name="Sign out here").click()
    page.get_by_role("button", name="Sign in").wait_for(timeout=20_000)
    page.goto(f"http://127.0.0.1:{kitchen.port}/")
    page.get_by_role("button", name="Sign in").wait_for(timeout=20_000)
    context.close()


def test_a_new_key_ends_every_link_and_every_sign_in(kitchen: Kitchen) -> None:
    """For the day a phone is lost."""
    _, link = kitchen.finding()
    _, cookie = kitchen.sign_in("Tomas Ek", "2739")
    succeed("person", "sign-out-everybody", "--data", kitchen.data)
    assert kitchen.ask(link)[0] == 410
    wait_for(lambda: kitchen.ask("/", cookie=cookie)[0] == 303, within_s=20, what="the door to close")


def _looks_right(page: Page) -> None:
    """Check a page for a thumb."""
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0
    small = page.evaluate(
        "[...document.querySelectorAll('button,select,input,label')].map(e => [e.tagName, e.getBoundingClientRect().height])"
        ".filter(([tag, height]) => height > 0 && height < 44 && !['INPUT'].includes(tag))"
    )
    assert small == []
    assert re.search(r"\d+ (min|h)", page.inner_text("body"))
