"""The review of what was done alone, on the phone of somebody outside: a signed link that lasts a week."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from dashboards import data, links, plain, shift_data
from dashboards.parts import alone
from dashboards.parts.sheet import esc, sentence
from holdwatch.errors import RefusedError
from holdwatch.language import _
from holdwatch.storage.secrets import REVIEW, link_token
from holdwatch.views import words

__all__ = ["ROUTES"]


async def review(request: Request) -> Response:
    """Show what was done alone, or record its review."""
    return await links.answered(request, REVIEW, _page, _record)


def _record(number: int, fields: links.Fields) -> str:
    try:
        shift_data.reviewed(
            number,
            by=fields.get("who", "").strip(),
            pin=fields.get("pin", "").strip(),
            text=fields.get("text", ""),
            place="phone",
        )
    except RefusedError as exc:
        data.keep_refused(exc, "review", place="phone")
        raise
    return ""  # the page itself says by whom it was reviewed


def _page(number: int, _said: str, problem: str, fields: links.Fields) -> str:
    found = next((each for each in shift_data.done_alone() if each.id == number), None)
    if found is None:
        return plain.page(_("Review"), f"<p>{_('Nothing was recorded alone, so there is nothing to review.')}</p>")
    zone = data.site().zone
    rows = "".join(
        f"<tr><td>{esc(words.clock_words(at, zone))}</td><td>{esc(said)}</td></tr>" for at, said in found.entries
    )
    parts = [f'<p class="problem" role="alert">{esc(sentence(problem))}</p>' if problem else ""]
    parts += [f'<p class="large">{esc(alone.told(found))}</p><table>{rows}</table>']
    if found.reviewed_by:
        parts.append(
            f'<p class="said" role="status">{_("Reviewed by {name}.").format(name=esc(found.reviewed_by))}</p>'
        )
    elif found.runs:
        said = _("It is reviewed once it is over. A finding can be verified at once, by the link of its alert.")
        parts.append(f"<p>{said}</p>")
    else:
        parts += [_to_verify(found.findings), _form(fields)]
    return plain.page(_("Review"), "".join(parts), data.site().limits_notice)


def _to_verify(findings: tuple[tuple[int, str], ...]) -> str:
    """Link each finding that is verified first; whoever may review may see it."""
    with data.store().write() as session:
        links = [(link_token(session, number, now_ms=data.now_ms()), title) for number, title in findings]
    shown = (f'<a href="/f/{token}">{esc(title)}</a>' for token, title in links)
    return "".join(f"<p>{_('To be verified first: {finding}').format(finding=link)}</p>" for link in shown)


def _form(given: dict[str, str]) -> str:
    name = given.get("who", "")
    options = "".join(f"<option{' selected' if each == name else ''}>{esc(each)}</option>" for each in data.people())
    return (
        f'<form method="post"><label>{_("Who")}<select name="who"><option value="">{_("Choose your name")}</option>'
        f"{options}</select></label>"
        '<label>PIN<input name="pin" type="password" inputmode="numeric" autocomplete="off" maxlength="12"></label>'
        f'<label>{_("In words")}<input name="text" maxlength="500" value="{esc(given.get("text", ""))}"></label>'
        f"<button>{_('Reviewed')}</button></form>"
    )


ROUTES = [Route("/r/{token:str}", review, methods=["GET", "POST"])]
