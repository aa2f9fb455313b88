"""Set-up: limits in force in words and who inspects, units and probes, people, and the written plan."""

import streamlit as st

from dashboards import data, limits_data
from dashboards.parts import contacts, equipment, forms, keeping, people, plan, sheet, site_speaks
from holdwatch.language import N_, _, written_day
from holdwatch.limits import known_limits, load_limits
from holdwatch.limits.authorities import codes_for
from holdwatch.limits.telling import NAMES, how_read
from holdwatch.views import words
from holdwatch.views.limits import Governing
from holdwatch.views.model import SiteView

_AS_IT_IS = N_("as it is")
_OWN = N_("a file of our own")
_ANSWERS = (N_("yes"), N_("no"))
_EGG = N_("Is raw or undercooked egg served: mousse, tiramisu, soft meringue, a sauce that is not cooked?")
_SUSCEPTIBLE = N_("Are highly susceptible people served: in a hospital, a home for the old, a kindergarten?")


def stands(found: Governing, site: SiteView) -> None:
    """Draw which limits govern, and how they stand."""
    answers = {"": _("not answered"), "yes": _("yes"), "no": _("no")}
    facts = [
        (_("Inspected by"), found.site.authority or _("nobody said")),
        (_("Limits"), f"{found.name}; {found.limits.authority}"),
        (_("Text"), _("{version} (the beginning of its SHA-256)").format(version=found.version)),
        (_("In force"), _since(found, site)),
        (_("Authority"), f"{found.confirmed[:1].upper()}{found.confirmed[1:]}."),
        (_("Raw or undercooked egg"), answers[found.site.raw_egg]),
        (_("Highly susceptible people"), answers[found.site.susceptible]),
        (_("Altitude"), found.site.altitude or _("nobody said: water boils lower up there")),
    ]
    st.html(sheet.table(["", ""], [[sheet.esc(name), sheet.esc(value)] for name, value in facts]))
    for warning in found.warnings:
        st.html(sheet.trouble(warning))


def _since(found: Governing, site: SiteView) -> str:
    """Say from when on a version holds."""
    if found.site.from_ms <= 0:
        return _("from the beginning, set by {by}").format(by=found.site.by)
    return _("since {time}, set by {by}").format(
        time=words.clock_words(found.site.from_ms, site.zone), by=found.site.by
    )


def inspects(found: Governing) -> None:
    """Ask who inspects, which limits follow, and the two questions."""
    key = forms.fresh("inspects")
    st.html(sheet.heading(_("Who inspects you?"), 2))
    authority = st.text_input(
        _("The authority, with its state or country"),
        found.site.authority,
        key=f"{key}-authority",
        placeholder="Denver Public Health, Colorado",
        max_chars=120,
    ).strip()
    likely = codes_for(authority)
    names = [_AS_IT_IS, *likely, *(name for name in known_limits() if name not in likely), _OWN]
    limits = st.selectbox(
        _("The limits it holds you to: ask it which; those of its place stand first"),
        names,
        index=0 if found.site.authority == authority or not likely else 1,
        format_func=lambda name: _label(name, found, likely=name in likely),
        key=f"{key}-limits-{authority}",
    )
    path = ""
    if limits == _OWN:
        path = st.text_input(
            _("Path of the file on the machine that runs Holdwatch"),
            key=f"{key}-path",
            placeholder="/home/us/plan.toml",
        ).strip()
    with st.form(key):
        raw_egg = _question(_(_EGG), found.site.raw_egg, f"{key}-egg")
        susceptible = _question(_(_SUSCEPTIBLE), found.site.susceptible, f"{key}-susceptible")
        altitude = st.text_input(
            _("Altitude of the kitchen: where water boils depends on it"),
            found.site.altitude,
            key=f"{key}-altitude",
            placeholder="5280ft",
            max_chars=20,
        )
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Take into force from now on"), type="primary")
    st.html(
        sheet.small_print(
            _(
                "A day that has begun and a batch that has started keep the limits of their beginning. Another text of the limits, or another authority, is not confirmed until you asked it."
            )
        )
    )
    if not pressed:
        return
    if not authority or not by or (limits == _OWN and not path):
        forms.problem(_("Say who inspects you, which limits it holds you to, and who sets it."))
        return
    chosen = {_AS_IT_IS: None, _OWN: path}.get(str(limits), str(limits))
    if limits_data.use(
        limits=chosen,
        authority=authority,
        raw_egg=raw_egg,
        susceptible=susceptible,
        altitude=altitude,
        by=by,
        pin=pin,
    ):
        forms.recorded("inspects", _("In force from now on, set by {by}.").format(by=by))


def _label(name: str, found: Governing, *, likely: bool) -> str:
    """Write a choice of limits."""
    if name == _AS_IT_IS:
        return _("as it is: {limits}").format(limits=found.limits.title)
    if name == _OWN:
        return _("{file}, stricter than the law or approved by it").format(file=_(_OWN))
    limits = load_limits(name)
    said = f"{limits.title} ({_(limits.standing.value)})"
    return _("{limits} – of this place").format(limits=said) if likely else said


def _question(asked: str, before: str, key: str) -> str:
    """Ask a question of set-up; nothing chosen is no answer."""
    index = _ANSWERS.index(before) if before in _ANSWERS else None
    return str(st.radio(asked, _ANSWERS, format_func=_, index=index, horizontal=True, key=key) or "")


def confirms(found: Governing, site: SiteView) -> None:
    """Ask a manager for what the authority said."""
    key = forms.fresh("confirms")
    st.html(sheet.heading(_("Confirm with your authority"), 2))
    if not found.site.authority:
        st.html(sheet.small_print(_("Say first who inspects you.")))
        return
    st.html(
        sheet.small_print(
            _(
                "Show {authority} the limits below and ask whether it holds you to just these. Until a manager records the answer, every screen and paper says that they are not confirmed."
            ).format(authority=found.site.authority)
        )
    )
    with st.form(key):
        person = st.text_input(_("Who said so at the authority"), key=f"{key}-person", max_chars=120).strip()
        day = limits_data.today(site.zone)
        on = st.date_input(_("On which day"), day, max_value=day, key=f"{key}-on")
        how = st.text_input(
            _("How"), key=f"{key}-how", placeholder=_("by letter, on the phone, at a visit"), max_chars=200
        ).strip()
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Record the confirmation"), type="primary")
    if not pressed:
        return
    if not person or not by:
        forms.problem(_("Say who said so at the authority, and which manager records it."))
    elif limits_data.confirm(person=person, on=on, how=how, by=by, pin=pin):
        forms.recorded("confirms", _("Recorded: confirmed by {person}.").format(person=person))


def parts() -> None:
    """Draw when each part of the program was last heard, and what it says of itself."""
    st.html(sheet.heading(_("The parts of the program"), 2))
    system = data.system()
    st.html(sheet.small_print(system.heard))
    rows = [[sheet.esc(sheet.sentence(role.words)), sheet.esc(_(role.state))] for role in system.roles]
    if rows:
        st.html(sheet.table([_("Part"), _("State")], rows))


def in_words(found: Governing) -> None:
    """Draw every limit in a sentence, with its clause and how surely it was read."""
    st.html(sheet.heading(_("The limits in words"), 2))
    st.html(sheet.small_print(found.limits.cautions))
    figures = found.limits.figures()
    rows = []
    for part, name in NAMES.items():
        rows += [
            [
                f"{sheet.esc(_(name))}<br>{sheet.whole(figure.clause)}",
                f"{sheet.esc(figure.requires)}{_read(how_read(figure))}",
            ]
            for figure in (figure for named, figure in figures if named == part)
        ]
        without = found.limits.no_figure.get(part)
        if without is not None:
            rows.append(
                [
                    f"{sheet.esc(_(name))}<br>{sheet.whole(without.clause)}",
                    _("no figure{says}").format(says=_read(without.says)),
                ]
            )
    st.html(sheet.table([_("Part and clause"), _("Asks")], rows))


def _read(text: str) -> str:
    return f'<div class="hw-small">{sheet.esc(text)}</div>'


def history(site: SiteView) -> None:
    """Draw which limits governed from when on, and every confirmation."""
    st.html(sheet.heading(_("Since when"), 2))
    rows = [
        [
            sheet.esc(
                _("the beginning") if each.site.from_ms <= 0 else words.clock_words(each.site.from_ms, site.zone)
            ),
            sheet.esc(_("{name}, text {version}").format(name=each.name, version=each.version)),
            sheet.esc(each.site.authority or _("nobody said")),
            sheet.esc(each.site.by),
        ]
        for each in reversed(limits_data.history())
    ]
    st.html(sheet.table([_("From"), _("Limits"), _("Inspected by"), _("Set by")], rows))
    said = limits_data.confirmed()
    if said:
        st.html(sheet.heading(_("Confirmed"), 2))
        rows = [
            [
                sheet.esc(written_day(each.on)),
                sheet.esc(f"{each.person}, {each.authority}{f' ({each.how})' if each.how else ''}"),
                sheet.esc(_("{limits}, text {digest}").format(limits=each.limits, digest=each.digest[:12])),
                sheet.esc(each.by),
            ]
            for each in reversed(said)
        ]
        st.html(sheet.table([_("On"), _("By whom"), _("Limits"), _("Recorded by")], rows))


st.html(sheet.heading(_("Set-up")))
forms.confirmation()
present, where = limits_data.governs(), data.site()
stands(present, where)
inspects(present)
confirms(present, where)
site_speaks.draw()
equipment.draw(where)
people.people()
contacts.draw(where)
plan.draw(where)
keeping.keeping(where)
parts()
in_words(present)
history(where)
