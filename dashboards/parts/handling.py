"""A finding among people: where it stands, who did what, and the few things that can be done with it now."""

import streamlit as st

from dashboards import data
from dashboards.parts import forms, sheet
from holdwatch.language import N_, _
from holdwatch.people.handling import Act, Disposition, Stage
from holdwatch.views import words
from holdwatch.views.model import FindingView, SiteView

__all__ = ["CHECKS", "FOOD", "UNSIGNED", "do", "entries", "stands"]

FOOD = {
    Disposition.RE_CHILL: N_("Cool it faster"),
    Disposition.REHEAT: N_("Reheat it, once"),
    Disposition.DISCARD: N_("Throw it away"),
    Disposition.HOLD: N_("Set it apart for the manager"),
    Disposition.KEEP: N_("Keep it (manager, with a reason)"),
}
CHECKS = {
    N_("No further check"): 0,
    N_("Look again in 20 min"): 20,
    N_("Look again in 1 h"): 60,
    N_("Look again in 2 h"): 120,
}
UNSIGNED = frozenset({Disposition.DISCARD, Disposition.HOLD})
"""What is taken without a PIN, to be signed: throwing away must never wait."""


def stands(finding: FindingView, site: SiteView) -> str:
    """Return one line, in small letters: where the finding stands, by whom, and what is promised."""
    now = finding.handling
    parts = [_(now.stage.value)]
    if now.stage is Stage.UNSEEN and not finding.wants_somebody:
        parts = [_("passed by itself")]
    if now.verified_by:
        parts.append(_("by {name}").format(name=now.verified_by))
    elif now.handled_by:
        parts.append(_("by {name}").format(name=", ".join(now.handled_by)))
    elif now.seen_by:
        parts.append(_("by {name}").format(name=now.seen_by))
    if now.check_ms is not None:
        left = words.time_left(now.check_ms, data.now_ms())
        parts.append(
            "· " + _("look again at {time} ({left})").format(time=words.clock_time(now.check_ms, site.zone), left=left)
        )
    if now.unsigned and data.somebody_records():
        parts.append("· " + _("{count} to be signed").format(count=now.unsigned))
    return " ".join(parts)


def entries(finding: FindingView, site: SiteView) -> None:
    """Draw what people recorded; a corrected entry stays, struck through and said to be corrected."""
    if not finding.entries:
        return
    st.html(sheet.heading(_("What was done"), 2))
    rows, named = [], bool(data.people())
    for each in finding.entries:
        said = sheet.esc((" – " if ":" in each.words else ": ").join(part for part in (each.words, each.text) if part))
        signed = f"{each.by} ({each.signed})" if each.signed else each.by
        note = _(", to be signed") if each.wants_signature and named else ""
        if each.corrected:
            said = f"<s>{said}</s> {_('corrected below')}"
        rows.append([sheet.esc(words.clock_words(each.at_ms, site.zone)), said, sheet.esc(f"{signed}{note}")])
    st.html(sheet.table([_("When"), _("What"), _("Who")], rows))


def do(finding: FindingView) -> None:
    """Draw what can be done now: say it was seen, record what was done, record the promised check, verify."""
    stage, key = finding.handling.stage, f"f{finding.id}"
    if stage is Stage.VERIFIED:
        _ways(finding, key, {_("Open it again"): Act.REOPENED})
    elif not finding.offers:  # about no food: what it asks for is done elsewhere
        if stage is Stage.UNSEEN:
            _ways(finding, key, {_("Only seen so far"): Act.SEEN, _("There was nothing the matter"): Act.MISTAKEN})
    elif stage is Stage.HANDLED:
        _ways(finding, key, {_("Verify"): Act.VERIFIED, _("Open it again"): Act.REOPENED})
        with st.expander(_("Record something more")):
            _decide(finding, key)
    elif stage is Stage.PROMISED:
        _ways(finding, key, {_("It has worked"): Act.CHECK_KEPT, _("It has not worked"): Act.CHECK_FAILED})
        with st.expander(_("Record something else")):
            _decide(finding, key)
    else:
        _decide(finding, key)


def _decide(finding: FindingView, key: str) -> None:
    """Draw the form for an action and what becomes of the food."""
    fresh = forms.fresh(key)
    st.html(f"{sheet.heading(_('Record what was done'), 2)}{sheet.small_print(_(sheet.HOT))}")
    if finding.no_way_back:
        st.html(sheet.small_print(finding.no_way_back))
    with st.form(fresh):
        food = st.radio(
            _("The food"), list(finding.offers), format_func=lambda each: _(FOOD[each]), index=None, key=f"{fresh}-food"
        )
        food_slot = st.empty()
        text = st.text_area(_("What was done, and why"), max_chars=500, key=f"{fresh}-text").strip()
        check = st.selectbox(_("And then"), list(CHECKS), format_func=_, key=f"{fresh}-check")
        instead = _instead_of(finding, fresh)
        by, pin = forms.signer(fresh)
        who_slot = st.empty()
        with st.container(horizontal=True):
            pressed = st.form_submit_button(_("Record it"), type="primary")
            seen = finding.handling.stage is Stage.UNSEEN and st.form_submit_button(_("Only seen so far"))
            mistaken = st.form_submit_button(_("There was nothing the matter"))
    if not (pressed or seen or mistaken):
        return
    if not by:
        with who_slot:
            forms.problem(_("Say who you are."))
    elif seen:
        _record(finding, key, Act.SEEN, by, pin, said=_("seen"))
    elif mistaken:
        _record(finding, key, Act.MISTAKEN, by, pin, text=text, instead=instead, said=_("there was nothing the matter"))
    elif food is None:
        with food_slot:
            forms.problem(_("Say what becomes of the food."))
    else:
        minutes = CHECKS[str(check)]
        act = Act.HOLD if food is Disposition.HOLD else Act.PROMISE if minutes else Act.ACTION
        said = f"{_(food.value)}: {text}" if text else _(food.value)
        _record(
            finding,
            key,
            act,
            by,
            pin,
            food=food,
            text=text,
            check_min=minutes if act is Act.PROMISE else None,
            instead=instead,
            said=said,
        )


def _instead_of(finding: FindingView, key: str) -> int | None:
    """Ask which entry it corrects, where there is one; what was said before stays readable."""
    said = {
        each.id: _("{words}, by {by}").format(words=each.words, by=each.by)
        for each in finding.entries
        if each.decides and not each.corrected
    }
    if not said:
        return None
    chosen = st.selectbox(
        _("It corrects an entry"),
        [None, *said],
        format_func=lambda number: _("no, it is new") if number is None else said[number],
        key=f"{key}-instead",
    )
    return None if chosen is None else int(chosen)


def _ways(finding: FindingView, key: str, ways: dict[str, Act]) -> None:
    """Draw a short form with one button a way."""
    fresh = forms.fresh(f"{key}-ways")
    with st.form(fresh):
        text = st.text_input(_("In words"), max_chars=500, key=f"{fresh}-text").strip()
        by, pin = forms.signer(fresh)
        slot = st.empty()
        with st.container(horizontal=True):
            pressed = {act: st.form_submit_button(label) for label, act in ways.items()}
    for label, act in ways.items():
        if pressed[act] and not by:
            with slot:
                forms.problem(_("Say who you are."))
        elif pressed[act]:
            _record(finding, f"{key}-ways", act, by, pin, text=text, said=label.lower())


def _record(
    finding: FindingView,
    key: str,
    act: Act,
    by: str,
    pin: str,
    *,
    said: str,
    food: Disposition | None = None,
    text: str = "",
    check_min: int | None = None,
    instead: int | None = None,
) -> None:
    """Record it, or show why not; a discard is never refused for want of a PIN."""
    unsigned = act is Act.SEEN or food in UNSIGNED
    stage = data.record_act(
        finding.id,
        act,
        by=by,
        pin=pin,
        may_be_unsigned=unsigned,
        disposition=food,
        text=text,
        check_min=check_min,
        replaces_id=instead,
    )
    if stage is not None:
        forms.recorded(
            key, _("Recorded: {said}, by {by}. The finding is {stage}.").format(said=said, by=by, stage=_(stage.value))
        )
