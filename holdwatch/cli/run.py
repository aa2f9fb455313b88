"""``holdwatch run``: the whole system, supervised."""

from typing import Annotated

import typer

from holdwatch.cli.common import BrokerOption, DataOption, settings_for

__all__ = ["run"]


def run(
    data: DataOption = None,
    broker: BrokerOption = None,
    dashboard: Annotated[
        bool, typer.Option("--dashboard/--no-dashboard", help="Whether the screens are served too.")
    ] = True,
    port: Annotated[
        int | None, typer.Option("--port", help="The port of the screens; if not given, 8501.", show_default=False)
    ] = None,
    broker_port: Annotated[
        int | None,
        typer.Option("--broker-port", help="The port of the broker it starts; if not given, 1883.", show_default=False),
    ] = None,
) -> None:
    """Start everything: broker, listener, watch, alerts and screens; Ctrl-C stops it.

    Without --broker it starts a broker of its own on this machine: mosquitto if it is installed, else a built-in one.
    It prints the one line `ready` when it hears probes and every part has gone round once.

    holdwatch run --data kitchen
    holdwatch run --data kitchen --broker mqtt://192.168.1.10:1883 --no-dashboard
    """
    from holdwatch.run.supervisor import run_all

    settings = settings_for(data, broker_url=broker, port=port, broker_port=broker_port)
    raise typer.Exit(run_all(settings, with_dashboard=dashboard))
