"""``holdwatch listen``, ``watch``, ``notify``, ``dashboard``: one long-running part alone."""

from typing import Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import BrokerOption, DataOption, opened, settings_for

__all__ = ["dashboard", "listen", "notify", "watch"]


def listen(data: DataOption = None, broker: BrokerOption = None) -> None:
    """Listen to the probes and keep every reading; `holdwatch run` does this and the rest.

    It keeps trying a broker that cannot be reached.
    """
    from holdwatch.intake.listener import run as run_listener
    from holdwatch.run.role import run_role

    raise typer.Exit(run_role("listen", run_listener, settings_for(data, broker_url=broker)))


def watch(
    data: DataOption = None,
    once: Annotated[bool, typer.Option("--once", help="Judge what waits, once, and end.")] = False,
) -> None:
    """Hold the readings against the limits, and find what was missed or is not shown; `holdwatch run` does it too."""
    from holdwatch.run.role import run_role
    from holdwatch.watch.loop import run as run_watch
    from holdwatch.watch.loop import watch_of

    settings = settings_for(data)
    if not once:
        raise typer.Exit(run_role("watch", run_watch, settings))
    with opened(data) as store:
        done = watch_of(store, settings).catch_up(clock.now_ms())
    typer.echo(
        f"judged {done.judged} subjects; findings: {done.opened} opened, {done.changed} changed, {done.closed} closed"
    )
    if done.trouble:
        typer.echo(done.trouble, err=True)


def notify(data: DataOption = None) -> None:
    """Send the alerts that wait, until each is taken; `holdwatch run` does this and the rest."""
    from holdwatch.alerts.notify import run as run_notify
    from holdwatch.run.role import run_role

    raise typer.Exit(run_role("notify", run_notify, settings_for(data)))


def dashboard(
    data: DataOption = None,
    port: Annotated[
        int | None, typer.Option("--port", help="Its port; if not given, 8501.", show_default=False)
    ] = None,
    address: Annotated[
        str | None,
        typer.Option("--address", help="Where it is served; if not given, 127.0.0.1.", show_default=False),
    ] = None,
) -> None:
    """Serve the screens; `holdwatch run` does this and the rest."""
    from holdwatch.run.screens import serve

    with opened(data):
        pass  # a store of another version is told here, not on a screen
    serve(settings_for(data, port=port, address=address))
