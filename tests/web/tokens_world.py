"""Who issues the tokens of the tests, and with what: never the library that checks them?"""

import base64
import json
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa, utils
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID

RsaKey = rsa.RSAPrivateKey
EcKey = ec.EllipticCurvePrivateKey
_HASHES: dict[str, type[hashes.HashAlgorithm]] = {
    "256": hashes.SHA256,
    "384": hashes.SHA384,
    "512": hashes.SHA512,
}
_CURVES = {"ES256": "P-256", "ES384": "P-384", "ES512": "P-521"}
_EC: dict[str, Callable[[], ec.EllipticCurve]] = {
    "P-256": ec.SECP256R1,
    "P-384": ec.SECP384R1,
    "P-521": ec.SECP521R1,
}


def b64(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode()


def number(value: int, length: int | None = None) -> str:
    return b64(value.to_bytes(length or (value.bit_length() + 7) // 8))


def rsa_key(bits: int = 2048) -> RsaKey:
    return rsa.generate_private_key(65537, bits)


def ec_key(algorithm: str) -> EcKey:
    return ec.generate_private_key(_EC[_CURVES[algorithm]]())


def jwk(key: RsaKey | EcKey, kid: str, **more: Any) -> dict[str, Any]:
    """The public half, as RFC 7518 writes it."""
    public = key.public_key().public_numbers()
    if isinstance(public, rsa.RSAPublicNumbers):
        half = {"kty": "RSA", "n": number(public.n), "e": number(public.e)}
    else:
        size = (public.curve.key_size + 7) // 8
        curve = {256: "P-256", 384: "P-384", 521: "P-521"}[public.curve.key_size]
        half = {"kty": "EC", "crv": curve, "x": number(public.x, size), "y": number(public.y, size)}
    return {**half, "kid": kid, **more}


def jwks(*keys: dict[str, Any]) -> bytes:
    return json.dumps({"keys": keys}).encode()


def signed(key: RsaKey | EcKey, claims: dict[str, Any], alg: str = "RS256", **header: Any) -> str:
    """A token in the compact form; ``header`` adds to it, None takes away."""
    named = {"alg": alg, "typ": "JWT", "kid": "one", **header}
    head = {name: value for name, value in named.items() if value is not None}
    text = f"{b64(json.dumps(head).encode())}.{b64(json.dumps(claims).encode())}"
    return f"{text}.{b64(signature(key, text.encode(), alg))}"


def signature(key: RsaKey | EcKey, text: bytes, alg: str) -> bytes:
    digest = _HASHES[alg[2:]]()
    if isinstance(key, EcKey):
        r, s = utils.decode_dss_signature(key.sign(text, ec.ECDSA(digest)))
        size = (key.curve.key_size + 7) // 8
        return r.to_bytes(size) + s.to_bytes(size)
    if alg.startswith("PS"):
        salted = padding.PSS(padding.MGF1(digest), digest.digest_size)
        return key.sign(text, salted, digest)
    return key.sign(text, padding.PKCS1v15(), digest)


class KeyServer:
    """A real server on loopback that publishes keys. ``asked`` counts; the test sets the rest."""

    def __init__(self) -> None:
        self.body = jwks()
        self.status = 200
        self.headers: dict[str, str] = {}
        self.pause = 0.0
        self.asked = 0
        self.url = ""


def certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate for this machine that signs itself, and its private key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "tests")])
    now = datetime.now(UTC)
    here = x509.SubjectAlternativeName([x509.IPAddress(ip_address("127.0.0.1"))])
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(hours=1))
        .add_extension(here, critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )
    public, private = folder / "tests.pem", folder / "tests.key"
    public.write_bytes(made.public_bytes(Encoding.PEM))
    form = (Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    private.write_bytes(key.private_bytes(*form))
    return public, private


@contextmanager
def key_server(shown: tuple[Path, Path] | None = None) -> Iterator[KeyServer]:
    """By https where a certificate and its key are ``shown``."""
    told = KeyServer()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            told.asked += 1
            time.sleep(told.pause)
            self.send_response(told.status)
            for name, value in told.headers.items():
                self.send_header(name, value)
            self.send_header("Content-Length", str(len(told.body)))
            self.end_headers()
            self.wfile.write(told.body)

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    if shown is not None:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(*shown)
        server.socket = context.wrap_socket(server.socket, server_side=True)
    scheme = "http" if shown is None else "https"
    told.url = f"{scheme}://127.0.0.1:{server.server_port}/jwks"
    thread = threading.Thread(target=server.serve_forever, args=(0.05,))
    thread.start()
    try:
        yield told
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
