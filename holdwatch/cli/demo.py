"""`holdwatch demo`: the whole system, with an invented kitchen that is alive."""

from pathlib import Path
from typing import Annotated

import typer

from holdwatch.cli.common import settings_for

__all__ = ["demo"]

DEFAULT_DATA = Path("demo-data")


def demo(
    data: Annotated[
        Path, typer.Option("--data", metavar="DIR", help="Where the demonstration keeps what it records.")
    ] = DEFAULT_DATA,
    port: Annotated[
        int, typer.Option(min=1, max=65_535, help="The port of the screens; another free one is taken if it is in use.")
    ] = 8501,
    no_dashboard: Annotated[bool, typer.Option("--no-dashboard", help="Run without the screens.")] = False,
) -> None:
    """Run everything with a simulated kitchen: two weeks of history, and batches that are cooling now.

    Linden Street Patisserie is invented; its probes speak over MQTT as real ones do. One batch cools well, one is
    forecast to miss, one custard has sat out too long, and its alert arrives in an inbox that the screens show.
    Ctrl-C stops everything; starting again goes on where it was.
    """
    from holdwatch.demo.inbox import FILE
    from holdwatch.demo.start import children, free_or_other, prepare
    from holdwatch.run.supervisor import run_all

    wanted = settings_for(data).broker_port
    settings = settings_for(data, port=free_or_other(port), broker_port=free_or_other(wanted))

    def tell(line: str) -> None:
        typer.echo(line, err=True)

    def open_doors() -> None:
        where = "" if no_dashboard else f"The kitchen is on the screen: {settings.base_url}\n"
        tell(f"{where}Alerts arrive in {settings.data / FILE}. Ctrl-C stops everything.")

    prepare(settings, tell)
    status = run_all(settings, with_dashboard=not no_dashboard, extra=children(), on_ready=open_doors)
    raise typer.Exit(status)
