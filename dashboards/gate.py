"""The door of the screens: who has signed in here, checked before any page or socket is reached.

Until somebody has been entered as a person the door stands open, as it must in a kitchen that has just begun. From
then on a browser signs in with a person's PIN. A person's own browser is signed out when it is left idle, and at the
end of the shift; a manager may sign in the kitchen's own tablet, which then stays signed in: the Bench must never go
dark at four in the morning. There people begin their shift with their PIN, and may start, move and read in their own
names; deciding about food takes the PIN again.

The link of an alert opens one finding without signing in (`dashboards.phone`), and the liveness check is open.
"""

from http import HTTPStatus
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dashboards import entering, plain, signedin, sso
from dashboards.parts.sheet import esc
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.language import ENGLISH, _, speaking, spoken

__all__ = ["ROUTES", "Gate"]

_OPEN = ("/_stcore/health", "/f/", "/r/", "/sign-in", "/sign-out", "/favicon.ico")
_POLICY = {
    "default-src": "'self'",
    "script-src": "'self' 'unsafe-inline' 'unsafe-eval' blob:",  # what Streamlit's own pages and its charts need
    "style-src": "'self' 'unsafe-inline'",
    "img-src": "'self' data: blob:",  # none of another server: not even one that somebody wrote into a name
    "font-src": "'self' data:",
    "media-src": "'self' data: blob:",
    "worker-src": "'self' blob:",
    "object-src": "'none'",
    "base-uri": "'self'",
    "frame-ancestors": "'self'",
}
_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Content-Security-Policy": "; ".join(f"{part} {allowed}" for part, allowed in _POLICY.items()),
}


class Gate:
    """Lets through who has signed in, sends a browser to the sign-in page, and refuses everything else."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request or socket."""
        if scope["type"] not in {"http", "websocket"}:
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        said = await run_in_threadpool(_spoken, headers.get("cookie", "")) if _is_read(scope, headers) else (spoken(),)
        with speaking(*said):
            await self._let_in(headers, scope, receive, send)

    async def _let_in(self, headers: Headers, scope: Scope, receive: Receive, send: Send) -> None:
        path = str(scope["path"])
        if path.startswith(_OPEN):
            await self._app(scope, receive, _with_headers(send))
            return
        try:
            enters = await run_in_threadpool(_may_enter, headers.get("cookie", ""))
            refused = None if enters else _refusal(path, headers, str(scope.get("query_string", b""), "latin-1"))
        except HoldwatchError as exc:  # who stands before the door cannot be told: it stays shut, and says why
            said = plain.page(_("Not now"), f'<p class="problem">{esc(exc)}</p>')
            refused = HTMLResponse(said, status_code=HTTPStatus.SERVICE_UNAVAILABLE)
        if refused is None:
            await self._app(scope, receive, _with_headers(send))
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008, "reason": _("sign in first")})
        else:
            await refused(scope, receive, _with_headers(send))


def _is_read(scope: Scope, headers: Headers) -> bool:
    """Return whether a person reads the answer: a page, and no part of one."""
    return scope["type"] == "http" and "text/html" in headers.get("accept", "")


def _spoken(cookies: str) -> tuple[str, str]:
    """Return the language and the degrees of whoever asks; of somebody unknown, and on the link of an alert, the site's."""
    try:
        signed = signedin.who(signedin.from_header(cookies))
        return signedin.language_of(signed), signedin.scale_of(signed)
    except HoldwatchError:  # the store cannot be read: it is told in words that every kitchen's computer has
        return ENGLISH, ""


def _may_enter(cookies: str) -> bool:
    return signedin.nobody_entered() or signedin.who(signedin.from_header(cookies)) is not None


def _refusal(path: str, headers: Headers, query: str) -> Response:
    if "text/html" not in headers.get("accept", ""):
        return PlainTextResponse(_("sign in first"), status_code=HTTPStatus.UNAUTHORIZED)
    wanted = f"{path}?{query}" if query else path
    return RedirectResponse(f"/sign-in?next={quote(wanted, safe='')}", status_code=HTTPStatus.SEE_OTHER)


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return sent


async def sign_in(request: Request) -> Response:
    """Show the sign-in page, or take it."""
    wanted = entering.inside(str(request.query_params.get("next", "/")))
    if request.method == "GET":
        return HTMLResponse(await run_in_threadpool(_page, wanted, "", ""))
    form = await request.form(max_fields=8, max_files=0)
    name, pin = str(form.get("who", ""))[:120], str(form.get("pin", ""))[:12]
    kitchen = form.get("kitchen") == "yes"
    wanted = entering.inside(str(form.get("next", "/")))
    try:
        before = request.cookies.get(signedin.COOKIE, "")
        cookie = await run_in_threadpool(signedin.sign_in, name, pin, kitchen=kitchen, before=before)
    except HoldwatchError as exc:
        page = await run_in_threadpool(_page, wanted, name, str(exc))
        return HTMLResponse(page, status_code=HTTPStatus.FORBIDDEN)
    return entering.entered(request, wanted, cookie, kitchen=kitchen)


async def sign_out(request: Request) -> Response:
    """Forget who has signed in on this browser."""
    if request.method != "POST":  # a link or a picture must not sign anybody out
        return HTMLResponse(
            plain.page(
                _("Sign out"),
                f'<form method="post"><button>{_("Sign out here")}</button></form><p><a href="/">{_("Back")}</a></p>',
            )
        )
    await run_in_threadpool(signedin.sign_out, request.cookies.get(signedin.COOKIE, ""))
    answer = RedirectResponse("/sign-in", status_code=HTTPStatus.SEE_OTHER)
    answer.delete_cookie(signedin.COOKIE)
    return answer


def _page(wanted: str, name: str, problem: str) -> str:
    people = signedin.names()
    options = "".join(f"<option{' selected' if each == name else ''}>{esc(each)}</option>" for each in people)
    said = f'<p class="problem" role="alert">{esc(problem)}</p>' if problem else ""
    kitchen = _(
        "This is the kitchen's own screen: a manager signs it in, it stays signed in, and people begin their shift there"
    )
    forgotten = _("A forgotten PIN: a manager sets a new one under Set-up, or with {command}.").format(
        command="<code>holdwatch person pin</code>"
    )
    return plain.page(
        _("Sign in"),
        f"""{said}<form method="post" action="/sign-in"><input type="hidden" name="next" value="{esc(wanted)}">
<label>{_("Who")}<select name="who" required><option value="">{_("Choose your name")}</option>{options}</select></label>
<label>PIN<input name="pin" type="password" inputmode="numeric" autocomplete="off" maxlength="12" required></label>
<label class="line"><input type="checkbox" name="kitchen" value="yes"> {kitchen}</label>
<button>{_("Sign in")}</button></form>{_sso(wanted)}
<p>{forgotten}</p>""",
    )


def _sso(wanted: str) -> str:
    """Offer the group's own account, where single sign-on is set up."""
    try:
        found = sso.provider()
    except ConfigError as exc:
        return f'<p class="problem" role="alert">{_("Single sign-on: {problem}").format(problem=esc(exc))}</p>'
    if found is None:
        return ""
    way = f"{sso.BEGIN}?next={quote(wanted, safe='')}"
    link = f'<a class="way" href="{esc(way)}">{_("Sign in with {account}").format(account=esc(found.name))}</a>'
    return f"<p>{_('{link}, on a browser of your own').format(link=link)}</p>"


ROUTES = [
    Route("/sign-in", sign_in, methods=["GET", "POST"]),
    Route("/sign-out", sign_out, methods=["GET", "POST"]),
]
