"""``holdwatch backup`` and ``holdwatch restore``."""

import tempfile
from pathlib import Path
from typing import Annotated

import typer

from holdwatch.cli.common import DataOption, opened, settings_for

__all__ = ["backup", "restore"]


def backup(
    out: Annotated[Path, typer.Option("-o", "--output", help="The file to write; it must not be there yet.")],
    data: DataOption = None,
) -> None:
    """Write the store into a file while everything runs.

    holdwatch backup -o /mnt/stick/holdwatch-2026-11-24.db

    Then prove it: holdwatch restore FILE --drill. The key of the seals is not in it: keep a copy of seal-key.pem apart.
    """
    from holdwatch.storage.backups import make_backup
    from holdwatch.storage.chain import head

    with opened(data) as store:
        make_backup(store, out)
        with store.read() as session:
            lines, digest = head(session)
    typer.echo(f"{out} is written. The chain has {lines:,} lines or fewer in it, the last one {digest}.")


def restore(
    source: Annotated[Path, typer.Argument(metavar="FILE", help="The backup.", show_default=False)],
    drill: Annotated[
        bool,
        typer.Option("--drill", help="Put it into a directory that is thrown away, and only say whether it is whole."),
    ] = False,
    digest: Annotated[
        list[str] | None,
        typer.Option("--digest", metavar="HEX", show_default=False, help="A digest of the chain that it must hold."),
    ] = None,
    data: DataOption = None,
) -> None:
    """Put a backup into a data directory where there is no store yet, and hold it against its chain.

    Exit status: 0 whole, 1 not whole.
    """
    from holdwatch.cli.verify import tell
    from holdwatch.records.verify import verify
    from holdwatch.storage.backups import put_back
    from holdwatch.storage.engine import open_store, store_url

    settings = settings_for(data)
    with tempfile.TemporaryDirectory() as aside:
        url = store_url(Path(aside) / "drill", None) if drill else store_url(settings.data, settings.database_url)
        put_back(source, url)
        store = open_store(url, migrate=True)
        try:
            found = verify(store, digest or ())
        finally:
            store.close()
    for sentence in tell(found):
        typer.echo(sentence)
    if not drill:
        typer.echo("It is back. Next: holdwatch run, and put the copy of seal-key.pem beside it.")
    raise typer.Exit(0 if found.whole else 1)
