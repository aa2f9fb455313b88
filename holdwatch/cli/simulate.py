"""`holdwatch simulate`: a kitchen's probes speak to a broker."""

import time
from typing import TYPE_CHECKING, Annotated

import typer

from holdwatch.clock import MS_PER_MINUTE, MS_PER_SECOND, monotonic_ms, now_ms
from holdwatch.errors import ConfigError

if TYPE_CHECKING:
    from devices.simulator.live import Feed
    from devices.simulator.publisher import Publisher

__all__ = ["simulate"]

TELL_EVERY_MS = 10 * MS_PER_SECOND
CONNECT_WITHIN_MS = 10 * MS_PER_SECOND
LAST_WORD_MS = 5 * MS_PER_SECOND


def simulate(
    broker: Annotated[
        str, typer.Option(help="Where to publish, as mqtt://[USER:PASSWORD@]HOST[:PORT].")
    ] = "mqtt://127.0.0.1:1883",
    seed: Annotated[int, typer.Option(help="The same seed and instants give the same readings.")] = 1,
    speed: Annotated[float, typer.Option(min=1.0, max=10_000.0, help="How many times faster than real time.")] = 1.0,
    minutes: Annotated[
        float, typer.Option(min=0.1, max=43_200.0, help="How many minutes of the kitchen to publish.")
    ] = 60.0,
) -> None:
    """Publish an invented kitchen's probes to a broker, as real probes would.

    Probes in a walk-in, a reach-in, a display case, a freezer and a hot cabinet, and two pans that cool; SenML, JSON
    and bare numbers, on the topics holdwatch/CODE. Each reading is kept until ack/CODE says that it was written down.
    With --speed above 1 the span ends at the present, so that no reading lies in the future; the probe that sends bare
    numbers is then left out, since such a number is taken for a present one. Ctrl-C stops it.
    """
    from devices.simulator.publisher import Publisher
    from devices.simulator.shift import shift_feeds

    try:
        publisher = Publisher(broker, f"holdwatch-simulate-{seed}")
    except ValueError as exc:
        raise ConfigError(str(exc)) from exc
    span_ms = round(minutes * MS_PER_MINUTE)
    first_ms = now_ms() - round(span_ms * (1 - 1 / speed))
    feeds = shift_feeds(seed, first_ms, bare_numbers=speed == 1)
    typer.echo(f"{len(feeds)} probes, seed {seed}: " + ", ".join(sorted(feed.device.code for feed in feeds)))
    publisher.start()
    try:
        _wait_for_broker(publisher)
        _run(publisher, feeds, span_ms, speed)
    except KeyboardInterrupt:
        typer.echo("stopped")
    finally:
        publisher.stop()
    typer.echo(_progress(publisher))


def _wait_for_broker(publisher: "Publisher") -> None:
    """Give the broker a moment to answer, and say in one line if it does not."""
    until = monotonic_ms() + CONNECT_WITHIN_MS
    while not publisher.connected:
        if monotonic_ms() > until:
            raise ConfigError(
                f"no broker answers at {publisher.host}:{publisher.port}: start one, or name another with --broker"
            )
        time.sleep(0.05)


def _run(publisher: "Publisher", feeds: "list[Feed]", span_ms: int, speed: float) -> None:
    """Publish the span at the speed asked for, tell now and then how it goes, and wait for the last confirmations."""
    from devices.simulator.live import speak_up_to

    first_ms, began = feeds[0].next_ms, monotonic_ms()
    told = began
    while True:
        gone = min(span_ms, round((monotonic_ms() - began) * speed))
        speak_up_to(feeds, publisher, first_ms + gone)
        if monotonic_ms() - told >= TELL_EVERY_MS:
            told = monotonic_ms()
            typer.echo(f"{gone / MS_PER_MINUTE:.1f} of {span_ms / MS_PER_MINUTE:g} min: {_progress(publisher)}")
        if gone >= span_ms:
            break
        time.sleep(0.2)
    until = monotonic_ms() + LAST_WORD_MS
    while len(publisher.outbox) and monotonic_ms() < until:
        publisher.send_due()
        time.sleep(0.05)


def _progress(publisher: "Publisher") -> str:
    """Say how many messages went out and how many are known to be kept."""
    waiting = len(publisher.outbox)
    words = f"{publisher.sent} messages sent, {publisher.confirmed} confirmed as kept"
    return words + (
        f", {waiting} not confirmed: does `holdwatch listen` run, and are the probes added?" if waiting else ""
    )
