"""A finding on a phone: the page that an alert's link opens. Light, no script, one hand, four touches.

The link is signed and lasts a week; it opens this one finding and nothing else. Looking needs no PIN, doing does: only
that it was seen, and that food is thrown away or set apart, is taken without one, unsigned.
"""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from dashboards import data, links, plain
from dashboards.parts import handling as handling_part
from dashboards.parts import sheet
from dashboards.parts.sheet import esc
from holdwatch.errors import ConfigError, RefusedError, UnknownNameError
from holdwatch.language import _
from holdwatch.people.handling import Act, Disposition, Stage
from holdwatch.storage.secrets import LINK
from holdwatch.views import words
from holdwatch.views.model import FindingView, SiteView

__all__ = ["ROUTES"]


async def finding(request: Request) -> Response:
    """Show the finding of a link, or record what was done about it."""
    return await links.answered(request, LINK, _page, lambda number, fields: _kept(number, fields).value)


def _kept(number: int, fields: dict[str, str]) -> Stage:
    """Record what the form says; who may not is kept."""
    try:
        return _record(number, fields)
    except RefusedError as exc:
        data.keep_refused(exc, "record", place="phone")
        raise
    except UnknownNameError as exc:
        data.keep_refused(RefusedError(str(exc), who=fields["who"]), fields.get("do", ""), place="phone")
        raise


def _record(number: int, fields: dict[str, str]) -> Stage:
    """Record what the form says.

    Raises
    ------
    ConfigError
        If something is missing or refused.
    """
    do, by, pin = fields.get("do", ""), fields.get("who", "").strip(), fields.get("pin", "").strip()
    if not by:
        raise ConfigError(_("say who you are"))
    acts = {each.value: each for each in (Act.SEEN, Act.CHECK_KEPT, Act.CHECK_FAILED, Act.MISTAKEN, Act.VERIFIED)}
    if do in acts:
        unsigned = acts[do] is Act.SEEN
        return data.recorded_act(
            number, acts[do], by=by, pin=pin, may_be_unsigned=unsigned, text=fields.get("text", ""), place="phone"
        )
    if do not in {each.value for each in Disposition}:
        raise ConfigError(_("say what becomes of the food"))
    food = Disposition(do)
    minutes = int(fields["check"]) if fields.get("check", "0") in {"20", "60", "120"} else 0
    act = Act.HOLD if food is Disposition.HOLD else Act.PROMISE if minutes else Act.ACTION
    return data.recorded_act(
        number,
        act,
        by=by,
        pin=pin,
        may_be_unsigned=food in handling_part.UNSIGNED,
        disposition=food,
        text=fields.get("text", ""),
        check_min=minutes if act is Act.PROMISE else None,
        place="phone",
    )


def _page(number: int, said: str, problem: str, fields: links.Fields) -> str:
    found, site = data.finding(number), data.site()
    if found is None:
        return plain.page(
            _("Finding"), f'<p class="problem">{_("There is no finding {number} any more.").format(number=number)}</p>'
        )
    parts = []
    if said in {stage.value for stage in Stage}:
        parts.append(
            f'<p class="said" role="status">{_("Recorded. The finding is {stage}.").format(stage=esc(_(said)))}</p>'
        )
    if problem:
        parts.append(f'<p class="problem" role="alert">{esc(sheet.sentence(problem))}</p>')
    parts += [_top(found, site), _form(found, fields), _facts(found, site)]
    return plain.page(found.title, "".join(parts), site.limits_notice)


def _top(found: FindingView, site: SiteView) -> str:
    left = ""
    if found.due_ms is not None and found.closed_ms is None:
        due = words.clock_words(found.due_ms, site.zone)
        left = f'<p class="large"><b>{esc(words.time_left(found.due_ms, data.now_ms()))}</b> · {_("due {time}").format(time=esc(due))}</p>'
    todo = f"<p><b>{_('Do:')}</b> {esc(found.todo)}</p>" if found.todo and found.closed_ms is None else ""
    back = f"<p>{esc(found.no_way_back)}</p>" if found.no_way_back and found.closed_ms is None else ""
    return (
        f'<p class="mark large">{sheet.mark(found.mark)}</p><p class="large">{esc(sheet.sentence(found.reason))}</p>'
        f"{left}{todo}{back}"
    )


def _facts(found: FindingView, site: SiteView) -> str:
    rows = [
        (_("Stands"), sheet.sentence(handling_part.stands(found, site))),
        (_("Since"), words.clock_words(found.since_ms, site.zone)),
        (_("Clause"), found.source or found.clause),
        (_("Closed"), "" if found.closed_ms is None else words.clock_words(found.closed_ms, site.zone)),
    ]
    rows += [
        (words.clock_words(each.at_ms, site.zone), f"{each.words} {each.text} · {each.by} {each.signed}".strip())
        for each in found.entries
        if not each.corrected
    ]
    cells = "".join(f"<tr><td>{esc(name)}</td><td>{_unbroken(value)}</td></tr>" for name, value in rows if value)
    return (
        f"<h2>{_('What is known')}</h2><table>{cells}</table>"
        f'<p><a href="/findings?finding={found.id}">{_("All of it")}</a></p>'
    )


def _unbroken(text: str) -> str:
    """Keep the number of a clause on its line."""
    before, comma, clause = text.rpartition(", ")
    return f"{esc(before)}{comma}{sheet.whole(clause)}" if comma and clause[:1].isdigit() else esc(text)


def _form(found: FindingView, fields: dict[str, str]) -> str:
    stage = found.handling.stage
    if stage is Stage.VERIFIED or not (found.wants_somebody or stage is Stage.HANDLED):
        return ""
    choices: dict[str, str] = {}
    if stage is Stage.PROMISED:
        choices |= {
            Act.CHECK_KEPT.value: _("Looked again: it has worked"),
            Act.CHECK_FAILED.value: _("It has not worked"),
        }
    if stage is Stage.HANDLED:
        choices |= {Act.VERIFIED.value: _("Verified: I have checked what was done")}
    else:
        choices |= {food.value: _(handling_part.FOOD[food]) for food in found.offers}
        choices |= {Act.MISTAKEN.value: _("There was nothing the matter: say why below")}
    picked = fields.get("do", "")
    radios = "".join(
        f'<label><input type="radio" name="do" value="{value}"{" checked" if value == picked else ""}>{esc(label)}</label>'
        for value, label in choices.items()
    )
    people = data.people()
    name = fields.get("who", "")
    who = (
        f'<select name="who"><option value="">{_("Choose your name")}</option>'
        + "".join(f"<option{' selected' if each == name else ''}>{esc(each)}</option>" for each in people)
        + "</select>"
        if people
        else f'<input name="who" maxlength="60" value="{esc(name)}">'
    )
    pin = (
        '<label>PIN<input name="pin" type="password" inputmode="numeric" autocomplete="off" maxlength="12"></label>'
        if people
        else ""
    )
    checks = "".join(
        f'<option value="{minutes}">{esc(_(label))}</option>' for label, minutes in handling_part.CHECKS.items()
    )
    check = "" if stage is Stage.HANDLED else f'<label>{_("And then")}<select name="check">{checks}</select></label>'
    seen = (
        f'<button class="second" name="do" value="seen">{_("Only seen so far")}</button>'
        if stage is Stage.UNSEEN
        else ""
    )
    return (
        f'<form method="post"><fieldset><legend>{_("What was done")}</legend>{radios}</fieldset>'
        f"<label>{_('Who')}{who}</label>{pin}<button>{_('Record it')}</button>{seen}"
        f'<label>{_("In words")}<input name="text" maxlength="500" value="{esc(fields.get("text", ""))}"></label>{check}'
        f'<p class="quiet">{esc(_(sheet.HOT))}</p></form>'
    )


ROUTES = [Route("/f/{token:str}", finding, methods=["GET", "POST"])]
