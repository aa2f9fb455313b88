"""Telling a reckoned answer: lines for a person, or one JSON object for a program."""

from typing import TYPE_CHECKING

import typer

from holdwatch.cli.common import print_json, print_table

if TYPE_CHECKING:
    from holdwatch.calculators.answer import Answer

__all__ = ["tell"]


def tell(answer: "Answer", *, as_json: bool) -> None:
    """Print an answer with what it rests on."""
    if as_json:
        print_json(answer.for_programs())
        return
    typer.echo(answer.says)
    if answer.rows:
        typer.echo()
        print_table(answer.heads, answer.rows, none="")
    for note in answer.notes:
        typer.echo(f"\n{note}")
    basis = answer.basis
    typer.echo()
    for name, text in (
        ("Formula", basis.formula),
        ("Covers", basis.covers),
        ("Error", basis.error),
        ("Source", basis.source),
        ("Caution", answer.caution),
    ):
        if text:
            typer.echo(f"{name}: {text}")
