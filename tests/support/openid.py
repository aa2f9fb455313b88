"""A small OpenID Connect provider over real HTTP: it says who somebody is, signed, to whoever brings the code.

Written from OpenID Connect Core 1.0 (sections 3.1 and 10) and RFC 7636 (PKCE), with nothing of the library it tests.
"""

import base64
import hashlib
import json
import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

from cryptography.hazmat.primitives.asymmetric import padding, rsa
from cryptography.hazmat.primitives.hashes import SHA256

__all__ = ["CLIENT", "SECRET", "OpenIdProvider", "openid_provider"]

CLIENT, SECRET = "holdwatch", "a secret of theirs"


def _b64(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode()


def _number(value: int) -> str:
    return _b64(value.to_bytes((value.bit_length() + 7) // 8, "big"))


@dataclass
class OpenIdProvider:
    """Who stands before it, how it answers, and what it was asked."""

    url: str = ""
    claims: dict[str, Any] = field(default_factory=dict)
    key: rsa.RSAPrivateKey = field(default_factory=lambda: rsa.generate_private_key(65537, 2048))
    signs_with: rsa.RSAPrivateKey | None = None
    """Another key, as somebody would who is not the provider."""
    wrong_nonce: bool = False
    codes: dict[str, dict[str, str]] = field(default_factory=dict)
    handed_out: int = 0

    def id_token(self, nonce: str) -> str:
        """Return who somebody is, signed with RS256 (RFC 7515)."""
        now = int(time.time())
        said = {"iss": self.url, "aud": CLIENT, "iat": now, "exp": now + 300, "nonce": nonce, **self.claims}
        head = _b64(json.dumps({"alg": "RS256", "kid": "one"}).encode())
        text = f"{head}.{_b64(json.dumps(said).encode())}"
        return f"{text}.{_b64((self.signs_with or self.key).sign(text.encode(), padding.PKCS1v15(), SHA256()))}"

    def token(self, form: dict[str, str], authorization: str) -> dict[str, Any] | None:
        """Return the token for a code, once, to the client whose code it is."""
        asked = self.codes.pop(form.get("code", ""), None)
        basic = f"Basic {base64.b64encode(f'{CLIENT}:{SECRET}'.encode()).decode()}"
        verifier = _b64(hashlib.sha256(form.get("code_verifier", "").encode()).digest())
        if asked is None or authorization.replace("%20", "+") not in {basic, _quoted()}:
            return None
        if verifier != asked["code_challenge"] or form.get("redirect_uri") != asked["redirect_uri"]:
            return None
        self.handed_out += 1
        nonce = "another" if self.wrong_nonce else asked["nonce"]
        return {"access_token": "x", "token_type": "Bearer", "expires_in": 60, "id_token": self.id_token(nonce)}


def _quoted() -> str:
    """Return the client's name and secret as RFC 6749 (section 2.3.1) codes them."""
    coded = f"{CLIENT}:{SECRET.replace(' ', '+')}"
    return f"Basic {base64.b64encode(coded.encode()).decode()}"


@contextmanager
def openid_provider() -> Iterator[OpenIdProvider]:
    """Serve a provider on a free port of this machine."""
    provider = OpenIdProvider()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            parts = urlsplit(self.path)
            said = {name: values[0] for name, values in parse_qs(parts.query).items()}
            if parts.path == "/.well-known/openid-configuration":
                self._answer(
                    {
                        "issuer": provider.url,
                        "authorization_endpoint": f"{provider.url}/authorize",
                        "token_endpoint": f"{provider.url}/token",
                        "jwks_uri": f"{provider.url}/keys",
                        "id_token_signing_alg_values_supported": ["RS256"],
                        "code_challenge_methods_supported": ["S256"],
                    }
                )
            elif parts.path == "/keys":
                numbers = provider.key.public_key().public_numbers()
                key = {"kty": "RSA", "kid": "one", "use": "sig", "n": _number(numbers.n), "e": _number(numbers.e)}
                self._answer({"keys": [key]})
            elif parts.path == "/authorize" and said.get("client_id") == CLIENT:
                code = secrets.token_urlsafe(16)
                provider.codes[code] = said
                self.send_response(302)
                back = urlencode({"code": code, "state": said["state"]})
                self.send_header("Location", f"{said['redirect_uri']}?{back}")
                self.end_headers()
            else:
                self.send_error(404)

        def do_POST(self) -> None:
            text = self.rfile.read(int(self.headers.get("Content-Length", "0"))).decode()
            form = {name: values[0] for name, values in parse_qs(text).items()}
            token = provider.token(form, self.headers.get("Authorization", ""))
            self._answer(token or {"error": "invalid_grant"}, 200 if token else 400)

        def _answer(self, said: dict[str, Any], status: int = 200) -> None:
            body = json.dumps(said).encode()
            self.send_response(status)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_args: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    provider.url = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield provider
    finally:
        server.shutdown()
        server.server_close()
        thread.join(timeout=10)
