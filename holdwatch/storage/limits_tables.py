"""The table of limits files by their text; the conventions are those of `tables`."""

from sqlalchemy import BigInteger, Column
from sqlmodel import Field, SQLModel

__all__ = ["LimitsText"]


class LimitsText(SQLModel, table=True):
    """A limits file that was ever in force, word for word: what was judged by it can be judged by it again."""

    __tablename__ = "limits_text"
    digest: str = Field(primary_key=True)  # SHA-256 of text and base_text, in hex
    name: str  # of a code of the package, or the path of the site's own file
    text: str
    base_text: str = ""  # of the code that a plan names, as it stood then
    kept_ms: int = Field(sa_column=Column(BigInteger, nullable=False))
