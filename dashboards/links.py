"""What the signed link of a message opens: one plain page about one thing, and what is recorded on it.

The link lasts a week and opens that one thing and nothing else; one that opens nothing is kept as a refused try.
"""

from collections.abc import Callable
from http import HTTPStatus

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from dashboards import data, plain
from dashboards.parts.sheet import esc
from holdwatch.errors import HoldwatchError, RefusedError
from holdwatch.language import N_, _
from holdwatch.storage.secrets import read_link

__all__ = ["Fields", "answered"]

Fields = dict[str, str]
_MOST_FIELDS, _LONGEST = 12, 500
_TOO_OLD = N_(
    "This link opens nothing: it is older than a week, or was cut short on its way. Open Holdwatch and look there."
)


async def answered(
    request: Request,
    purpose: str,
    page: Callable[[int, str, str, Fields], str],
    record: Callable[[int, Fields], str],
) -> Response:
    """Show what a link opens, or record what its form says.

    Parameters
    ----------
    purpose : of the link: one of the names in `storage.secrets`.
    page : from the number that the link is of, what was just recorded, what is wrong, and what was typed.
    record : records what was typed, and returns what to say of it; raises a `HoldwatchError` that is told on the page.
    """
    token = str(request.path_params["token"])
    number = await run_in_threadpool(_number, token, purpose)
    if number is None:
        said = plain.page(
            _("Link"), f'<p class="problem">{esc(_(_TOO_OLD))}</p><p><a href="/findings">{_("Findings")}</a></p>'
        )
        return HTMLResponse(said, status_code=HTTPStatus.GONE)
    if request.method == "GET":
        return HTMLResponse(
            await run_in_threadpool(page, number, str(request.query_params.get("said", ""))[:40], "", {})
        )
    form = await request.form(max_fields=_MOST_FIELDS, max_files=0)
    fields = {name: str(value)[:_LONGEST] for name, value in form.items()}
    try:
        done = await run_in_threadpool(record, number, fields)
    except HoldwatchError as exc:
        again = await run_in_threadpool(page, number, "", str(exc), fields)
        return HTMLResponse(again, status_code=HTTPStatus.UNPROCESSABLE_ENTITY)
    here = request.url.path
    return RedirectResponse(f"{here}?said={done.replace(' ', '+')}" if done else here, status_code=HTTPStatus.SEE_OTHER)


def _number(token: str, purpose: str) -> int | None:
    with data.store().read() as session:
        number = read_link(session, token, purpose)
    if number is None:
        data.keep_refused(RefusedError(_TOO_OLD, who=""), "open a link", place="phone")
    return number
