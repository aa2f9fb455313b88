"""Units and probes on the Set-up page: what is heard and not yet placed, named and placed by one form; and what is there."""

import streamlit as st

from dashboards import data, equipment_data, speaking
from dashboards.equipment_data import Place, Speaks
from dashboards.parts import forms, sheet
from holdwatch.language import N_, _, decimals
from holdwatch.quantities import Scale
from holdwatch.views import words
from holdwatch.views.model import HeardView, SiteView
from holdwatch.views.probes import WAYS

__all__ = ["draw"]

_REPEAT_S = 5.0
_MEDIA = {
    "food": N_("food"),
    "air": N_("air of a unit"),
    "product": N_("simulated product: a bottle or block that follows the air as food does"),
}
_NOWHERE = N_("nowhere yet: it is for batches")
_NEW = N_("a new unit")


def draw(site: SiteView) -> None:
    """Draw what is heard and not yet placed, the probes, and the units."""
    _heard(site)
    _probes(site)
    _units()


@speaking.repeated(_REPEAT_S)
def _heard(site: SiteView) -> None:
    """Draw what speaks and nobody has added, by itself as it comes, and the form that names and places it."""
    st.html(sheet.heading(_("Heard, not yet placed"), 2))
    found, now = equipment_data.heard(), data.now_ms()
    if not found:
        st.html(
            sheet.small_print(
                _(
                    "Nothing new is heard. Switch a probe on, and let it publish to the broker below the topic holdwatch/, such as holdwatch/p1: within seconds it stands here by itself. Now: {broker}."
                ).format(broker=equipment_data.broker())
            )
        )
        return
    rows = [
        [
            sheet.esc(each.topic),
            sheet.esc(_value(each, site)),
            sheet.esc(each.battery or _("not said")),
            sheet.esc(each.signal or _("not said")),
            sheet.esc(words.age(each.last_ms, now) + ("" if each.live else ", " + _("and had waited at the broker"))),
            sheet.esc(each.problem or each.how),
        ]
        for each in found
    ]
    heads = [_("Topic"), _("Last value"), _("Battery"), _("Signal"), _("Last heard"), _("Writes")]
    st.html(sheet.table(heads, rows, told=True))
    _name_and_place({each.topic: each for each in found})


def _value(each: HeardView, site: SiteView) -> str:
    """Write the last value; a number of which nobody knows the unit stays as it came."""
    if each.celsius is None:
        return each.said
    return (
        words.temperature(each.celsius, site.scale)
        if each.unit
        else _("{number}, °C or °F").format(number=decimals(f"{each.celsius:g}"))
    )


def _name_and_place(found: dict[str, HeardView]) -> None:
    """Ask what it is called, what it measures and where it goes; how it writes is proposed."""
    key = forms.fresh("heard")
    topic = st.selectbox(_("Which one"), list(found), key=f"{key}-topic")
    one = found.get(str(topic)) or next(iter(found.values()))
    key = f"{key}-{one.topic}"
    with st.form(key):
        code = st.text_input(_("Its name"), one.code, key=f"{key}-code", max_chars=60, placeholder="p1").strip()
        medium = st.radio(
            _("It measures"), list(_MEDIA), index=None, format_func=lambda each: _(_MEDIA[each]), key=f"{key}-medium"
        )
        places = [*(name for _id, name in data.units()), _NEW, _NOWHERE]
        where = st.selectbox(
            _("It goes into"),
            places,
            index=None,
            format_func=lambda each: _(each) if each in {_NEW, _NOWHERE} else each,
            key=f"{key}-where",
            placeholder=_("Choose its place"),
        )
        place = _new_unit(key)
        speaks = _speaks(key, one)
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Name and place it"), type="primary")
    if not pressed:
        return
    if where not in {None, _NEW}:
        place = Place() if where == _NOWHERE else Place(str(where))
    if not code or not medium or not where or not by or (where == _NEW and not place.unit):
        forms.problem(_("Say what it is called, what it measures, where it goes, and who sets it up."))
    elif equipment_data.name_and_place(code=code, medium=medium, speaks=speaks, place=place, by=by, pin=pin):
        at = place.unit or _("kept for batches")
        forms.recorded(
            "heard",
            _("{code} is heard from now on: {medium}, {at}.").format(
                code=code, medium=_(_MEDIA[medium]).partition(":")[0], at=at
            ),
        )


def _new_unit(key: str) -> Place:
    """Ask for a new unit, which counts only where it was chosen."""
    with st.container(horizontal=True):
        name = st.text_input(
            _("Name of a new unit"), key=f"{key}-unit", max_chars=60, placeholder=_("Walk-in 1")
        ).strip()
        kind = st.selectbox(
            _("Kind of a new unit"), equipment_data.KINDS, format_func=words.kind_of_unit, key=f"{key}-kind"
        )
    return Place(name, str(kind))


def _speaks(key: str, one: HeardView) -> Speaks:
    """Ask for the unit where the message does not say it; everything else is proposed and can be changed."""
    scale = one.unit
    if not scale:
        scale = str(
            st.radio(
                _("It says {said}: in which unit?").format(said=sheet.plain(one.said)),
                ["C", "F"],
                index=None,
                format_func="°{}".format,
                horizontal=True,
                key=f"{key}-scale",
            )
            or ""
        )
    with st.expander(_("How it writes"), expanded=bool(one.problem)):
        ways = list(WAYS)
        payload = st.selectbox(
            _("Its messages are"),
            ways,
            index=ways.index(one.payload) if one.payload in ways else 0,
            format_func=lambda each: _(WAYS[each]),
            key=f"{key}-payload",
        )
        pointer = st.text_input(
            _("JSON Pointer to the value"), one.pointer, key=f"{key}-pointer", placeholder="/d/temp"
        )
        at = st.text_input(_("JSON Pointer to the instant"), one.time_pointer, key=f"{key}-time", placeholder="/ts")
        unit = st.text_input(_("JSON Pointer to the unit"), one.unit_pointer, key=f"{key}-unit-pointer")
        name = st.text_input(_("Name in the SenML pack"), one.senml_name, key=f"{key}-senml")
    return Speaks(one.topic, str(payload), scale, pointer.strip(), at.strip(), unit.strip(), name.strip())


def _probes(site: SiteView) -> None:
    """Draw every probe with what it read last, and where it is."""
    st.html(sheet.heading(_("Probes"), 2))
    found, now = equipment_data.probes(), data.now_ms()
    if not found:
        st.html(
            sheet.small_print(
                _(
                    "No probe yet. One that speaks appears above by itself; or on the command line: holdwatch probe add p1 --medium food"
                )
            )
        )
        return
    rows = [
        [
            sheet.esc(each.code),
            sheet.esc(words.medium(each.medium)),
            sheet.esc(_("never heard") if each.last_c is None else words.temperature(each.last_c, Scale(site.scale))),
            sheet.esc("" if each.last_ms is None else words.age(each.last_ms, now)),
            sheet.esc(each.placed or _("not placed")),
            sheet.esc(each.topic),
        ]
        for each in found
    ]
    heads = [_("Probe"), _("Measures"), _("Last value"), _("Last heard"), _("Placed"), _("Topic")]
    st.html(sheet.table(heads, rows, told=True))


def _units() -> None:
    """Draw the form that adds a unit."""
    st.html(sheet.heading(_("Units"), 2))
    names = [name for _id, name in data.units()]
    st.html(sheet.small_print(", ".join(names) if names else _("No unit yet: add the first one.")))
    key = forms.fresh("unit")
    with st.expander(_("Add a unit"), expanded=not names), st.form(key):
        place = _new_unit(key)
        by, pin = forms.signer(key)
        if not st.form_submit_button(_("Add the unit")):
            return
        if not place.unit or not by:
            forms.problem(_("Say what it is called, and who sets it up."))
        elif equipment_data.add_unit(name=place.unit, kind=place.kind, by=by, pin=pin):
            forms.recorded("unit", _("{unit} is added.").format(unit=place.unit))
