"""``holdwatch version``: which version this is."""

import typer

from holdwatch.cli.common import JsonOption, print_json

__all__ = ["version"]


def version(as_json: JsonOption = False) -> None:
    """Print the version of the program, and of the tables that it needs in a store."""
    from importlib.metadata import version as version_of

    from holdwatch.storage.versions import head_version

    found = {"holdwatch": version_of("holdwatch"), "tables": head_version()}
    if as_json:
        print_json(found)
        return
    typer.echo(f"holdwatch {found['holdwatch']} (tables {found['tables']})")
