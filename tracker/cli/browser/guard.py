"""Who may come in: this machine's browser, with the key that was printed, from our own page.

A loopback port is open to every user and every web page on the machine. So a request must name the
address it was served under (a foreign name that resolves here is refused), carry the session's
key, and, where it opens the terminal itself, come from our own page.
"""

from __future__ import annotations

import hmac
import ipaddress

from aiohttp import web
from aiohttp.typedefs import Handler, Middleware

from tracker.errors import InputError

__all__ = ["HEADERS", "guard", "loopback"]

_COOKIE = "whybone-key"

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; font-src 'self'; "
        "img-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    ),
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
}
"""Nothing in the page may come from, or go to, anywhere else. Styles may stand in the page: the
terminal sets its cells' sizes so."""


def loopback(host: str) -> str:
    """Return the loopback address a host names.

    Raises
    ------
    InputError
        It is the address of a network.
    """
    name = "127.0.0.1" if host == "localhost" else host.strip("[]")
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        address = None
    if address is None or not address.is_loopback:
        raise InputError(
            f"{host!r} is not an address of this machine alone",
            field="--host",
            remedy="Use 127.0.0.1, ::1 or localhost; reach it from elsewhere through ssh",
        )
    return str(address)


def guard(address: str, key: str) -> Middleware:
    """Return what every request passes.

    Parameters
    ----------
    address : str
        Host and port as they stand in the page's address.
    key : str
        The session's key.
    """

    @web.middleware
    async def guarded(request: web.Request, handler: Handler) -> web.StreamResponse:
        if request.host != address:
            raise web.HTTPForbidden(text="Not served under this name.")
        if _same(request.query.get("key", ""), key):
            answer: web.StreamResponse = web.HTTPSeeOther("/")
            answer.set_cookie(_COOKIE, key, httponly=True, samesite="Strict")
            answer.headers.update(HEADERS)
            return answer
        if not _same(request.cookies.get(_COOKIE, ""), key):
            raise web.HTTPForbidden(text="Open the address that whybone printed.")
        if request.path == "/ws" and request.headers.get("Origin") != f"http://{address}":
            raise web.HTTPForbidden(text="Not opened from our own page.")
        return await handler(request)

    return guarded


def _same(given: str, key: str) -> bool:
    return hmac.compare_digest(given.encode(), key.encode())
