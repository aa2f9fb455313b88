"""What a paper says of the record that it was printed from: where its chain stood, who sealed it, what that proves."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from holdwatch.language import N_, _, sense, written_day
from holdwatch.storage.chain import head
from holdwatch.storage.chain_tables import Seal

__all__ = ["Standing", "standing"]

PROVES = N_(
    "Whoever keeps this paper can have it held against the record: holdwatch verify, with this digest, says whether anything up to that line was changed since. The seals are signed by a key on the kitchen's own machine: that shows who sealed, and not that nothing was changed before."
)


@dataclass(frozen=True)
class Standing:
    """Where the chain stood at the instant of printing."""

    lines: int
    digest: str
    key: str
    """The public half of the key of the latest seal; empty where no day was sealed yet."""
    sealed_until: str
    """The latest sealed day, in UTC."""

    def rows(self) -> list[list[str]]:
        """Return what the first page says of it."""
        seals = (
            _("until {day} (UTC), by the key {key}").format(day=written_day(self.sealed_until), key=_grouped(self.key))
            if self.key
            else _("no day is sealed yet")
        )
        line = _("line {line} of its chain, digest {digest}").format(line=self.lines, digest=_grouped(self.digest))
        return [[sense("chain", "Record"), line], [_("Seals"), seals], [_("What it proves"), _(PROVES)]]

    def small(self) -> str:
        """Return what the foot of every page says of it."""
        return _("record {line} · {digest}").format(line=self.lines, digest=self.digest[:16])


def standing(session: Session) -> Standing:
    """Return where the chain stands."""
    lines, digest = head(session)
    query = select(Seal.key, Seal.day).order_by(col(Seal.day).desc(), col(Seal.id).desc()).limit(1)
    key, day = session.exec(query).first() or ("", "")
    return Standing(lines, digest, key, day)


def _grouped(digest: str) -> str:
    """Write a digest in groups of eight, so that it can be read out and breaks between two of them."""
    return " ".join(digest[first : first + 8] for first in range(0, len(digest), 8))
