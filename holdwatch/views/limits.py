"""What screens and papers say of the limits that they show: confirmed or not, laxer, not seen, and what was answered."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass

from sqlmodel import Session, col, select

from holdwatch.errors import LimitsError
from holdwatch.language import _, written_day
from holdwatch.limits import Confidence, Limits, Standing
from holdwatch.storage.inforce import Confirmation, FileNow, confirmation_of, file_now, limits_of
from holdwatch.storage.look import once
from holdwatch.storage.tables import Answer, SiteVersion

__all__ = ["Governing", "governing", "unseen_words", "versions"]

_DIGEST_SHOWN = 12


@dataclass(frozen=True)
class Governing:
    """A version of the site with its limits, and whether the authority confirmed just this text."""

    site: SiteVersion
    limits: Limits
    confirmation: Confirmation | None
    file: FileNow
    """What the file says now; what governs is the text that was taken into force."""

    @property
    def name(self) -> str:
        """The limits in a few words."""
        return f"{self.limits.title} ({self.limits.edition})"

    @property
    def version(self) -> str:
        """Which text of the limits this is."""
        return self.limits.digest[:_DIGEST_SHOWN]

    @property
    def stands(self) -> bool:
        """Whether the authority confirmed what governs, and the file still says the same."""
        return self.confirmation is not None and self.file is not FileNow.EDITED

    @property
    def confirmed(self) -> str:
        """Whether the authority confirmed it, as the end of a sentence."""
        found = self.confirmation
        if self.file is FileNow.EDITED:
            return _(
                "not confirmed with your authority: the file was edited since it was taken into force, and the text of before governs until it is taken into force again"
            )
        if found is None:
            return _("not confirmed with your authority")
        how = f" ({found.how})" if found.how else ""
        return _("confirmed with {authority} by {person} on {on}{how}, recorded by {by}").format(
            authority=found.authority, person=found.person, on=written_day(found.on), how=how, by=found.by
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences that stand wherever these limits are used: laxer, not seen, not answered."""
        unseen = unseen_words(self.limits)
        said = (self.limits.laxer_told, self.baseless, unseen, self.newer, *self.unanswered, *self.rules)
        return tuple(words for words in said if words)

    @property
    def baseless(self) -> str:
        """That a plan names no code: nobody has compared it with one; empty for every other file."""
        if self.limits.standing is not Standing.PLAN or self.limits.base is not None:
            return ""
        return _("{limits} names no code as its base: whether it is laxer than the law is not shown.").format(
            limits=self.limits.title
        )

    @property
    def answers(self) -> str:
        """Who inspects, and what was answered at set-up, in a sentence for paper."""
        told = [
            _("Inspected by {authority}.").format(authority=self.site.authority)
            if self.site.authority
            else _("Nobody said who inspects.")
        ]
        if self.site.raw_egg == Answer.YES:
            told.append(_("Raw or undercooked egg is served, as answered at set-up."))
        elif self.site.raw_egg:
            told.append(_("Raw or undercooked egg is not served, as answered at set-up."))
        if self.site.susceptible == Answer.YES:
            told.append(_("Highly susceptible people are served, as answered at set-up."))
        elif self.site.susceptible:
            told.append(_("Highly susceptible people are not served, as answered at set-up."))
        return " ".join(told)

    @property
    def newer(self) -> str:
        """That another text came with the program; empty where none did."""
        if self.file is not FileNow.NEWER:
            return ""
        return _(
            "Another text of {base} came with this version of Holdwatch; the one of before governs until it is taken into force."
        ).format(base=self.limits.base or self.limits.id)

    @property
    def unanswered(self) -> tuple[str, ...]:
        """The questions of set-up that nobody answered."""
        asked = (
            (self.site.raw_egg, _("is raw or undercooked egg served")),
            (self.site.susceptible, _("are highly susceptible people served")),
        )
        left = [question for answer, question in asked if not answer]
        return (_("Not answered at set-up: {questions}?").format(questions=_(", and ").join(left)),) if left else ()

    @property
    def rules(self) -> tuple[str, ...]:
        """What the code asks because of the answers."""
        return tuple(_rules(self.site, self.limits))

    @property
    def small(self) -> str:
        """What the foot of every paper says beside the caution; empty where there is nothing to say."""
        said = "" if self.stands else _("Limits not confirmed with your authority.")
        base = " " + _("Held to a plan that is laxer than its code.") if self.limits.laxer is not None else ""
        return f"{said}{base}".strip()


def governing(session: Session, site: SiteVersion) -> Governing:
    """Return what is to be said of the limits of a version of the site.

    Raises
    ------
    LimitsError
        If the limits cannot be used.
    """

    def ask() -> Governing:
        return Governing(site, limits_of(session, site), confirmation_of(session, site), file_now(session, site))

    return once(session, ("governing", site.id), ask) if site.id is not None else ask()


def versions(session: Session) -> list[Governing]:
    """Return every version of the site with its limits, the oldest first; one that can no longer be read is left out."""
    found = []
    for site in session.exec(select(SiteVersion).order_by(col(SiteVersion.from_ms), col(SiteVersion.id))):
        with suppress(LimitsError):
            found.append(governing(session, site))
    return found


def unseen_words(limits: Limits) -> str:
    """Name the figures that were not read in the code's own text; empty if there are none."""
    unseen = dict.fromkeys(
        f"{figure.clause} ({_(figure.confidence.value)})"
        for _part, figure in limits.figures()
        if figure.confidence is not Confidence.SEEN
    )
    return _("Not seen in the code's own text: {unseen}.").format(unseen=", ".join(unseen)) if unseen else ""


def _rules(site: SiteVersion, limits: Limits) -> Iterator[str]:
    if site.susceptible == Answer.YES:
        yield _rule(limits, "raw-egg-susceptible", _("Highly susceptible people are served."))
        yield _rule(limits, "raw-egg-time-control", "")
    elif site.raw_egg == Answer.YES:
        yield _rule(limits, "raw-egg", _("Raw or undercooked egg is served."))


def _rule(limits: Limits, part: str, because: str) -> str:
    """Say what follows from an answer, in a sentence with its clause."""
    figures = [figure for named, figure in limits.figures() if named == part]
    if figures:
        asks = figures[0].requires
        return f"{because} {asks[:1].upper()}{asks[1:]} ({figures[0].clause}).".strip()
    without = limits.no_figure.get(part)
    says = without.says if without is not None else _("{limits} gives no rule on it.").format(limits=limits.title)
    return f"{because} {says}".strip()
