"""A reading published by an independent client becomes a finding, an alert, a line on a screen and a printed page."""

import json
import subprocess
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from tests.endtoend.kitchen import Kitchen, hours_ago, iso
from tests.support.agreement import assert_live_and_file_agree
from tests.support.chromium import chromium_path
from tests.support.waiting import wait_for

pytestmark = [pytest.mark.broker, pytest.mark.timeout(280), pytest.mark.long]

STAGE_1 = "3-501.14(A)(1)"  # FDA Food Code 2022: 135 °F to 70 °F within 2 h
LOT = "C-104"


def senml(readings: list[tuple[datetime, float]]) -> str:
    """Write a SenML pack (RFC 8428) of °C."""
    base = readings[0][0].timestamp()
    records = [{"t": (at - readings[0][0]).total_seconds(), "v": celsius} for at, celsius in readings]
    records[0] |= {"bn": "p2", "bt": base, "bu": "Cel"}
    return json.dumps(records)


def slow_custard(start: datetime) -> list[tuple[datetime, float]]:
    """A custard that is still at about 90 °F after two hours: 4 °F in five minutes at first, then slower."""
    return [(start + timedelta(minutes=m), (38 + 102 * 0.9943**m - 32) / 1.8) for m in range(0, 420, 5)]


def exported(kitchen: Kitchen, probe: str) -> list[dict[str, object]]:
    """Return the exported readings of one probe."""
    lines = kitchen.run("export", "readings", "--format", "jsonl").splitlines()
    return [row for row in map(json.loads, lines) if row["probe"] == probe]


def test_three_formats_published_are_kept(kitchen: Kitchen) -> None:
    """A bare number, a SenML pack and JSON with a pointer, published by mosquitto_pub, are each kept as one reading."""
    at = hours_ago(0.01)

    kitchen.broker.publish("holdwatch/p1", "21.5")
    kitchen.broker.publish("holdwatch/p2", senml([(at, 4.25)]))
    kitchen.broker.publish("holdwatch/p3", json.dumps({"d": {"temp": 39.2}}))

    kept = wait_for(lambda: all(exported(kitchen, p) for p in ("p1", "p2", "p3")) or None, what="three readings")
    assert kept
    assert [row["celsius"] for row in exported(kitchen, "p1")] == [21.5]
    assert [(row["celsius"], row["at"]) for row in exported(kitchen, "p2")] == [
        (4.25, at.isoformat(timespec="seconds").replace("+00:00", "Z"))
    ]
    assert exported(kitchen, "p3")[0]["celsius"] == pytest.approx(4.0)
    listed = {p["id"]: p for p in kitchen.ask("probe", "list")}
    assert (listed["p3"]["medium"], listed["p3"]["topic"]) == ("air", "holdwatch/p3")


def test_unreadable_messages_are_set_aside_and_stop_nothing(kitchen: Kitchen) -> None:
    """Noise and an unregistered probe are set aside; the next good reading is kept."""
    kitchen.broker.publish("holdwatch/p1", b"\xff\xfe\x00")
    kitchen.broker.publish("holdwatch/nobody", "3.0")
    before = len(exported(kitchen, "p1"))

    kitchen.broker.publish("holdwatch/p1", "22.5")

    wait_for(lambda: len(exported(kitchen, "p1")) == before + 1, what="the reading after the noise")


def test_late_burst_of_a_custard_becomes_finding_and_alerts(kitchen: Kitchen) -> None:
    """Readings that come in one burst, after the batch was started, show that stage 1 was missed, and the phone rings."""
    start = hours_ago(8)
    kitchen.run(
        *("batch", "start", "--product", "Pastry cream", "--lot", LOT, "--vessels", "2"),
        *("--probe", "p2", "--at", iso(start), "--by", "Ines"),
    )
    before = wait_for(lambda: kitchen.findings(STAGE_1, LOT), within_s=40, what="that nothing shows it yet")
    assert [(f["kind"], f["verdict"]) for f in before] == [("not-shown", "unproven")]

    kitchen.broker.publish("holdwatch/p2", senml(slow_custard(start)))

    found = wait_for(
        lambda: [f for f in kitchen.findings(STAGE_1, LOT) if f["kind"] == "deviation"], within_s=40, what="the finding"
    )
    assert [(f["id"], f["verdict"], f["closed_at"]) for f in found] == [(before[0]["id"], "missed", None)]
    wait_for(lambda: [b for b in kitchen.hook.got if LOT in b and STAGE_1 in b], within_s=40, what="the HTTP alert")
    mails = wait_for(lambda: [m for m in kitchen.mailbox.got if LOT in m.as_string()], within_s=40, what="the mail")
    body = mails[0].get_body(("plain",)) or mails[0]
    assert STAGE_1 in body.get_content()
    assert "/f/" in body.get_content()


def test_live_verdicts_equal_the_verdicts_of_the_exported_file(kitchen: Kitchen, tmp_path: Path) -> None:
    """What the watch stored and what `assess` says of the exported readings agree, also at ten instants inside."""
    assert_live_and_file_agree(kitchen.env, LOT, tmp_path)


@pytest.mark.pdf
def test_printed_log_shows_the_deviation(kitchen: Kitchen, tmp_path: Path) -> None:
    """The inspection log of the span, read back, names the batch, the clause and the deviation."""
    out = tmp_path / "log.pdf"

    kitchen.run("log", "--from", iso(hours_ago(12)), "--to", iso(hours_ago(0)), "-o", str(out), "--by", "Ines")

    text = subprocess.run(["pdftotext", "-layout", str(out), "-"], capture_output=True, text=True, check=True).stdout
    for wanted in ("Linden Street Patisserie", LOT, STAGE_1, "deviation", "Walk-in 1"):
        assert wanted in text, wanted


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), [(1280, 900), (390, 844)])
def test_screens_show_the_deviation(kitchen: Kitchen, width: int, height: int) -> None:
    """Bench, the batch and the finding show it in a real browser, without an error and without sideways scrolling."""
    found = kitchen.findings(STAGE_1, LOT)[0]["id"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": width, "height": height})
        errors: list[str] = []
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto(kitchen.url)
        page.get_by_text(LOT).first.wait_for(timeout=30_000)
        page.goto(f"{kitchen.url}/findings")
        page.get_by_text(LOT).first.wait_for(timeout=30_000)
        page.locator(f'a[href="/findings?finding={found}"]').click()
        page.get_by_text(STAGE_1).first.wait_for(timeout=30_000)
        page.get_by_text("Who was told").wait_for(timeout=30_000)
        page.get_by_text("Open the batch").click()
        page.locator("canvas, svg.marks").first.wait_for(timeout=30_000)
        wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        browser.close()

    assert errors == []
    assert wide <= 0
