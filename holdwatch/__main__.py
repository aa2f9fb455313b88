"""``python -m holdwatch``: the same as the command ``holdwatch``."""

from holdwatch.cli.main import main

main()
