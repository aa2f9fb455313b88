"""Who works here: on the Set-up page."""

import streamlit as st

from dashboards import data, people_data, signedin
from dashboards.parts import forms, sheet
from dashboards.people_data import Entered
from holdwatch.language import N_, _, sense
from holdwatch.people.roles import PersonRole
from holdwatch.views import words

__all__ = ["people"]

_ROLES = {
    PersonRole.COOK: N_("cook: records, and says what becomes of food"),
    PersonRole.MANAGER: N_("manager: keeps, verifies and sets up besides"),
    PersonRole.VIEWER: N_("viewer: looks and prints"),
}
_LEAVES = N_("works here no more")


def people() -> None:
    """Draw who works here, and what a manager can change."""
    here = people_data.entered()
    st.html(sheet.heading(_("People"), 2))
    if not here:
        st.html(
            sheet.small_print(
                _(
                    "Nobody has been entered yet: everybody who reaches these pages may record, unsigned. Enter the first manager; from then on the pages ask for a PIN."
                )
            )
        )
    else:
        rows = [[sheet.esc(each.name), sheet.esc(each.initials), sheet.esc(_(each.role)), _pin(each)] for each in here]
        st.html(sheet.table([_("Name"), _("Signs as"), _("Role"), "PIN"], rows))
    with st.expander(_("Enter somebody") if here else _("Enter the first manager"), expanded=not here):
        _enter(first=not here)
    if here:
        names = [each.name for each in here]
        with st.expander(_("A new PIN")):
            _new_pin(names)
        with st.expander(_("Another role, or somebody who has left")):
            _change(names)
        with st.expander(_("Signing in with an account of the group's")):
            _single_sign_on(names)
    signed = signedin.here()
    if signed is not None and any(each.role is PersonRole.MANAGER for each in signed.on_shift):
        with st.expander(_("Tries that were refused")):
            _refused()


def _refused() -> None:
    """Draw what somebody tried and may not, for a manager who is on shift here."""
    zone = data.site().zone
    rows = [
        [
            sheet.esc(words.clock_words(each.at_ms, zone)),
            sheet.esc(each.who or _("not said")),
            sheet.esc(
                f"{each.what}, {each.place}" + (_(", {times} times").format(times=each.times) if each.times > 1 else "")
            ),
            sheet.esc(each.why),
        ]
        for each in people_data.refused()
    ]
    if rows:
        st.html(sheet.table([_("When"), _("Who"), _("What"), _("Why not")], rows))
    else:
        st.html(sheet.small_print(_("None in the last thirty days.")))


def _pin(person: Entered) -> str:
    return sense("PIN", "set") if person.has_pin else _("none yet")


def _enter(*, first: bool) -> None:
    key = forms.fresh("enter")
    with st.form(key):
        name = st.text_input(_("Name, as it stands in the record"), key=f"{key}-name", max_chars=120).strip()
        initials = st.text_input(_("Initials"), key=f"{key}-initials", max_chars=4).strip()
        role = PersonRole.MANAGER
        if not first:
            role = st.selectbox(_("Role"), list(_ROLES), format_func=lambda each: _(_ROLES[each]), key=f"{key}-role")
        new = _twice(key)
        by, pin = ("", "") if first else forms.signer(key)
        pressed = st.form_submit_button(_("Enter"), type="primary")
    if not pressed:
        return
    if new is None:
        forms.problem(_("The two PINs are not the same."))
    elif people_data.add(name=name, initials=initials, role=role.value, new=new, by=by, pin=pin):
        forms.recorded(
            "enter", _("{name} is entered, and signs as {initials}.").format(name=name, initials=initials.upper())
        )


def _new_pin(names: list[str]) -> None:
    key = forms.fresh("new-pin")
    with st.form(key):
        name = st.selectbox(_("Of whom"), names, index=None, key=f"{key}-name", placeholder=_("Choose a name"))
        new = _twice(key)
        st.html(sheet.small_print(_("Your own with your old PIN; somebody else's is a manager's.")))
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Set the PIN"))
    if not pressed:
        return
    if name is None or new is None:
        forms.problem(_("Choose whose PIN it is, and type the new one twice the same."))
    elif people_data.new_pin(name=name, new=new, by=by, pin=pin):
        forms.recorded("new-pin", _("{name} signs with the new PIN from now on.").format(name=name))


def _change(names: list[str]) -> None:
    key = forms.fresh("change")
    with st.form(key):
        name = st.selectbox(_("Who is it"), names, index=None, key=f"{key}-name", placeholder=_("Choose a name"))
        choices = [*(role.value for role in _ROLES), _LEAVES]
        role = st.selectbox(
            _("From now on"), choices, format_func=_, index=None, key=f"{key}-role", placeholder=_("Choose")
        )
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Change it"))
    if not pressed:
        return
    if name is None or role is None:
        forms.problem(_("Choose who it is, and what changes."))
    elif people_data.change(name=name, role=None if role == _LEAVES else str(role), by=by, pin=pin):
        forms.recorded("change", f"{name}: {_(role)}.")


def _single_sign_on(names: list[str]) -> None:
    key = forms.fresh("sso")
    with st.form(key):
        name = st.selectbox(_("Whose"), names, index=None, key=f"{key}-name", placeholder=_("Choose a name"))
        account = st.text_input(
            _("Verified e-mail address, or subject; empty ends it"), key=f"{key}-account", max_chars=120
        ).strip()
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Set the account"))
    if not pressed:
        return
    if name is None:
        forms.problem(_("Choose whose account it is."))
    elif people_data.single_sign_on(name=name, account=account, by=by, pin=pin):
        said = _("{name} signs in as {account}.") if account else _("{name} signs in with the PIN alone.")
        forms.recorded("sso", said.format(name=name, account=account))


def _twice(key: str) -> str | None:
    """Ask for a new PIN twice; ``None`` where the two differ."""
    with st.container(horizontal=True):
        one = st.text_input(_("New PIN, 4 to 12 digits"), type="password", key=f"{key}-new", max_chars=12)
        two = st.text_input(_("Once more"), type="password", key=f"{key}-again", max_chars=12)
    return one if one == two else None
