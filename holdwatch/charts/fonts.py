"""Where the font files of papers are; apart from all else, so that whoever sets a piece loads nothing beside."""

from importlib.resources import files

__all__ = ["font_directory"]


def font_directory() -> str:
    """Return where the font files are: Source Sans Pro, under the SIL Open Font Licence, from its own package."""
    return str(files("font_source_sans_pro") / "files")
