"""``holdwatch checkup``: look at everything and say what to do."""

import typer

from holdwatch import clock
from holdwatch.cli.common import BrokerOption, DataOption, JsonOption, print_json, settings_for

__all__ = ["checkup"]


def checkup(data: DataOption = None, broker: BrokerOption = None, as_json: JsonOption = False) -> None:
    """Look at the store, the disk, the clock, the broker, the parts, the probes and the alert channels.

    Each line begins with `ok`, `look` or `broken`; the last two name the one cure. The exit status is 1 if anything is
    broken.
    """
    from holdwatch.run.checkup import State, check_up

    found = check_up(settings_for(data, broker_url=broker), clock.now_ms())
    if as_json:
        print_json([line.facts() for line in found])
    else:
        for line in found:
            typer.echo(f"{line.state:7}{line.subject}: {line.says}" + (f" → {line.cure}" if line.cure else ""))
    if any(line.state is State.BROKEN for line in found):
        raise typer.Exit(1)
