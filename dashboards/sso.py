"""Signing in by OpenID Connect, for a group that has it: who its server says somebody is, found among the people here.

The section ``[auth]`` of ``DATA/secrets.toml`` has the keys that Streamlit's own login reads, so its guides to the
providers hold. Streamlit's login itself runs inside of its pages, and here nobody reaches a page who has not signed
in: so the door speaks to the server, through Authlib, as Streamlit does.

It takes the place of the PIN for signing in, on a browser of one's own, and nowhere else: deciding about food, a
correction and a verification still take the PIN.
"""

import tomllib
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any

from itsdangerous import BadData
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from dashboards import data, entering, plain, signedin
from dashboards.parts.sheet import esc
from holdwatch.errors import ConfigError, HoldwatchError, RefusedError
from holdwatch.language import _
from holdwatch.storage.people import person_of_sso
from holdwatch.storage.people_tables import Person
from holdwatch.storage.refusals import keep_refusal
from holdwatch.storage.secrets import SINGLE_SIGN_ON, key_of, serializer

__all__ = ["BEGIN", "ROUTES", "Provider", "provider"]

FILE_NAME = "secrets.toml"
BEGIN, _BACK = "/sign-in/sso", "/sign-in/sso/back"
_COOKIE, _LASTS_S = "holdwatch-sso", 600
_NEEDED = ("client_id", "client_secret", "server_metadata_url")


@dataclass(frozen=True)
class Provider:
    """The server that says who somebody is."""

    name: str
    client_id: str
    client_secret: str = field(repr=False)
    server_metadata_url: str


def provider() -> Provider | None:
    """Return the server that is set up, ``None`` if there is none.

    Raises
    ------
    ConfigError
        If the file cannot be used; the message says where and why.
    """
    path = data.settings().data / FILE_NAME
    try:
        said = tomllib.loads(path.read_text(encoding="utf-8")).get("auth")
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as exc:
        raise ConfigError(_("{path} cannot be read: {exc}").format(path=path, exc=exc)) from exc
    if said is None:
        return None
    missing = [key for key in _NEEDED if not isinstance(said, dict) or not isinstance(said.get(key), str)]
    if missing:
        raise ConfigError(_("{path}: the section [auth] lacks {missing}").format(path=path, missing=", ".join(missing)))
    return Provider(str(said.get("name", _("the group's account"))), *(said[key] for key in _NEEDED))


async def begin(request: Request) -> Response:
    """Lead a browser to the server, and remember in a cookie what it has to bring back."""
    wanted = entering.inside(str(request.query_params.get("next", "/")))
    try:
        asked = await run_in_threadpool(_provider)
        ours = _with(request, {"next": wanted})
        answer: Response = await _client(asked).authorize_redirect(ours, _back_url())
        cookie = await run_in_threadpool(_coded, ours.session)
    except _failures() as exc:
        return await _refused(exc)
    secure = request.url.scheme == "https"
    answer.set_cookie(_COOKIE, cookie, max_age=_LASTS_S, path=BEGIN, httponly=True, samesite="lax", secure=secure)
    return answer


async def back(request: Request) -> Response:
    """Take what the server says of somebody, and sign them in if they are a person here."""
    try:
        asked = await run_in_threadpool(_provider)
        ours = _with(request, await run_in_threadpool(_decoded, request.cookies.get(_COOKIE, "")))
        token = await _client(asked).authorize_access_token(ours)
        claims = dict(token.get("userinfo") or {})
        person = await run_in_threadpool(_person, claims, asked)
        before = request.cookies.get(signedin.COOKIE, "")
        cookie = await run_in_threadpool(signedin.opened, person, kitchen=False, before=before)
    except _failures() as exc:
        return await _refused(exc)
    answer = entering.entered(request, str(ours.session.get("next", "/")), cookie, kitchen=False)
    answer.delete_cookie(_COOKIE, path=BEGIN)
    return answer


def _with(request: Request, session: dict[str, Any]) -> Request:
    """Return the request with what we remember of the way; the session of Streamlit around us stays its own."""
    return Request({**request.scope, "session": session})


def _provider() -> Provider:
    found = provider()
    if found is None:
        raise ConfigError(_("single sign-on is not set up here: sign in with your PIN"))
    return found


def _client(asked: Provider) -> Any:
    """Return what speaks to the server; the code is bound to this browser (PKCE, RFC 7636)."""
    try:
        from authlib.integrations.starlette_client import OAuth
    except ModuleNotFoundError as exc:
        raise ConfigError(
            _("single sign-on needs its part: pip install 'holdwatch[sso]'; sign in with your PIN")
        ) from exc
    return OAuth().register(
        "sso",
        client_id=asked.client_id,
        client_secret=asked.client_secret,
        server_metadata_url=asked.server_metadata_url,
        client_kwargs={"scope": "openid email profile", "code_challenge_method": "S256", "timeout": 10},
    )


def _failures() -> tuple[type[Exception], ...]:
    """Return what can go wrong with a server that is far away, or says what nobody signed."""
    try:
        from authlib.common.errors import AuthlibBaseError
        from httpx import HTTPError
        from joserfc.errors import JoseError
    except ModuleNotFoundError:
        return (HoldwatchError,)
    return (HoldwatchError, AuthlibBaseError, HTTPError, JoseError, KeyError, RuntimeError, ValueError)


def _person(claims: dict[str, Any], asked: Provider) -> Person:
    """Return the person whose verified address, or subject, the server names.

    Raises
    ------
    RefusedError
        If nobody here has it.
    """
    email = str(claims.get("email", "")) if claims.get("email_verified") is True else ""
    with data.store().read() as session:
        person = person_of_sso(session, email=email, subject=str(claims.get("sub", "")))
    if person is not None:
        return person
    who = str(claims.get("email") or claims.get("sub") or "")
    why = _("{asked} knows {who}, and nobody here has that address: a manager enters it under Set-up, People").format(
        asked=asked.name, who=who
    )
    if claims.get("email") and not email:
        why = _("{asked} does not say that {who} is verified: sign in with your PIN").format(asked=asked.name, who=who)
    raise RefusedError(why, who=who, what="sign in by single sign-on")


async def _refused(exc: Exception) -> Response:
    """Say in words that it did not work, and keep the try."""
    said = (
        str(exc)
        if isinstance(exc, HoldwatchError)
        else _("single sign-on did not work ({exc}): sign in with your PIN").format(exc=exc)
    )
    who = exc.who if isinstance(exc, RefusedError) else ""
    await run_in_threadpool(_keep, who, said)
    page = plain.page(
        _("Sign in"), f'<p class="problem" role="alert">{esc(said)}</p><p><a href="/sign-in">{_("Sign in")}</a></p>'
    )
    return HTMLResponse(page, status_code=HTTPStatus.FORBIDDEN)


def _keep(who: str, why: str) -> None:
    what = "sign in by single sign-on"
    keep_refusal(data.store(), who=who, what=what, place="screen", why=why, now_ms=data.now_ms())


def _back_url() -> str:
    return f"{data.settings().base_url}{_BACK}"


def _coded(session: dict[str, Any]) -> str:
    with data.store().write() as store_session:
        key = key_of(store_session, SINGLE_SIGN_ON, now_ms=data.now_ms())
    return str(serializer(key, SINGLE_SIGN_ON).dumps(session))


def _decoded(cookie: str) -> dict[str, Any]:
    """Return what was remembered of the way to the server.

    Raises
    ------
    ConfigError
        If this browser did not begin it, or too long ago.
    """
    with data.store().write() as session:
        key = key_of(session, SINGLE_SIGN_ON, now_ms=data.now_ms())
    try:
        return dict(serializer(key, SINGLE_SIGN_ON).loads(cookie, max_age=_LASTS_S))
    except (BadData, TypeError, ValueError) as exc:
        raise ConfigError(_("this sign-in was not begun on this browser, or too long ago: begin again")) from exc


ROUTES = [Route(BEGIN, begin, methods=["GET"]), Route(_BACK, back, methods=["GET"])]
