"""How a browser that was found to be somebody's goes on: with its cookie, to a page of ours."""

from http import HTTPStatus

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from dashboards import signedin

__all__ = ["entered", "inside"]


def inside(wanted: str) -> str:
    """Return where to go next: a page of ours, never another server's."""
    good = wanted.startswith("/") and not wanted.startswith(("//", "/\\")) and wanted.isprintable()
    return wanted if good and not wanted.startswith("/sign-") else "/"


def entered(request: Request, wanted: str, cookie: str, *, kitchen: bool) -> Response:
    """Give a browser its cookie: a person's is forgotten with the browser, the store says how long it holds."""
    answer = RedirectResponse(inside(wanted), status_code=HTTPStatus.SEE_OTHER)
    lasts = signedin.KITCHEN_LASTS_S if kitchen else None
    secure = request.url.scheme == "https"
    answer.set_cookie(signedin.COOKIE, cookie, max_age=lasts, httponly=True, samesite="lax", secure=secure)
    return answer
