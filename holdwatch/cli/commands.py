"""The list of commands; each is imported when it is called, so that help starts at once."""

import difflib
import importlib
import inspect
from typing import Any

import typer
from typer.core import TyperGroup
from typer.main import get_command, get_group

__all__ = ["COMMANDS", "CommandGroup", "load"]

COMMANDS: dict[str, tuple[str, str]] = {
    "init": ("init:init", "Make a data directory, its store, and the site."),
    "site": ("site:site", "Say in which language the site's alerts, papers and screens speak."),
    "unit": ("unit:unit_app", "The walk-ins, display cases, freezers and rooms of the site."),
    "probe": ("probe:probe_app", "The probes, how they speak, and when each was last heard."),
    "place": ("place:place", "Place a probe in a unit or in a vessel of a batch."),
    "batch": ("batch:batch_app", "Start a batch, record what happens to it, end it."),
    "product": ("product:product_app", "The products of the written plan and their steps."),
    "label": ("label:label", "Print labels of batches, and cooling tags for their pans."),
    "person": ("person:person_app", "Who works here, what each may record, and their PINs."),
    "contact": ("contact:contact_app", "Who is told when something is found, and by which channel."),
    "run": ("run:run", "Start everything: broker, listener, watch, alerts and screens."),
    "listen": ("roles:listen", "Listen to the probes and keep every reading."),
    "watch": ("roles:watch", "Hold the readings against the limits, and find what is not kept."),
    "notify": ("roles:notify", "Send the alerts that wait, until each is taken."),
    "dashboard": ("roles:dashboard", "Serve the screens."),
    "checkup": ("checkup:checkup", "Look at everything, and say what to do."),
    "finding": ("finding:finding_app", "What was done about a finding, and who verified it."),
    "findings": ("findings:findings", "List what was found."),
    "round": ("round:round_app", "Opening and closing: what to look at, gone through and recorded."),
    "days": ("days:days", "Go over days that are over: what is not in order, who reviewed them, what changed."),
    "delivery": ("delivery:delivery_app", "What came to the door: measured, taken or refused."),
    "breakdown": ("breakdown:breakdown_app", "One failed unit, one sheet for every batch in it."),
    "visit": ("visit:visit_app", "An officer's visit: readings, samples, notice, food detained."),
    "recall": ("recall:recall", "Tell what contains a lot, or what stood in a unit between two instants."),
    "plan": ("plan:plan_app", "The written plan on paper."),
    "log": ("log:log", "Print the inspection log of a span as a PDF."),
    "paper": ("paper:paper_app", "Print a batch, a day, findings and actions, checks of probes, or a blank sheet."),
    "export": ("export:export_app", "Hand the record over, line by line, as CSV, JSON or Parquet."),
    "backup": ("backup:backup", "Write the store into a file while everything runs."),
    "restore": ("backup:restore", "Put a backup back where there is nothing, and hold it against its chain."),
    "keep": ("keep:keep_app", "How long what is kept; thinning old readings."),
    "verify": ("verify:verify", "Tell whether the record is whole, and what was changed."),
    "limits": ("limits:limits_app", "The published limits, and files of your own, read aloud."),
    "assess": ("assess:assess", "Hold a file of readings against a published limit."),
    "forecast": ("forecast:forecast", "Say when cooling food will be at a temperature."),
    "schedule": ("schedule:schedule", "Reckon a cake back from its serving: when to begin what."),
    "cool-faster": ("cool_faster:cool_faster", "Compare how fast a food would cool, wherever it could be put."),
    "boil": ("boil:boil", "Tell where water boils in this room, to check a probe by."),
    "syrup": ("syrup:syrup", "Tell the stages of cooked sugar in this room."),
    "aw": ("aw:aw", "Estimate the water activity of a filling or frosting from its recipe."),
    "tcs": ("tcs:tcs", "Hold pH and water activity against the tables that say what needs temperature control."),
    "cook": ("cook:cook", "Hold an egg mixture's cook against the code, and estimate what the heat did."),
    "lag": ("lag:lag", "Estimate food from the air around it, with its lag given or learned."),
    "demo": ("demo:demo", "Start everything with an invented kitchen, to look at."),
    "simulate": ("simulate:simulate", "Publish an invented kitchen's probes to a broker."),
    "version": ("version:version", "Print which version this is."),
}
"""Name of a command → where it is under ``holdwatch.cli``, and what it does."""


def load(name: str) -> Any:
    """Import a command, and make it ready to be called."""
    module, _, attribute = COMMANDS[name][0].partition(":")
    found = getattr(importlib.import_module(f"holdwatch.cli.{module}"), attribute)
    if isinstance(found, typer.Typer):
        found.rich_markup_mode = None
        command: Any = get_group(found)
    else:
        alone = typer.Typer(add_completion=False, rich_markup_mode=None)
        alone.command(name)(found)
        command = get_command(alone)
    command.name = name
    for each in (command, *getattr(command, "commands", {}).values()):
        each.help = _keep_examples(each.help or "")
    return command


class CommandGroup(TyperGroup):
    """Knows the names of all commands, and imports the one that is called."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002  the library's signature
        """Return the names in the order in which a person meets them."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:  # noqa: ARG002  the library's signature
        """Import a command, and return it."""
        return load(cmd_name) if cmd_name in COMMANDS else None

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find the command that was called, or name the nearest one."""
        if args[0] not in COMMANDS and not args[0].startswith("-"):
            near = difflib.get_close_matches(args[0], COMMANDS, n=1)
            meant = f"did you mean {near[0]!r}?" if near else "holdwatch --help lists them"
            ctx.fail(f"{args[0]!r} is no command: {meant}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002  the library's signature
        """Write the list of commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, summary) for name, (_, summary) in COMMANDS.items()])


def _keep_examples(text: str) -> str:
    """Mark paragraphs of examples, so that help does not run their lines together."""
    return "\n\n".join(
        f"\b\n{part}" if part.startswith("holdwatch ") else part for part in inspect.cleandoc(text).split("\n\n")
    )
