"""How are an issuer's published keys read, whatever answers at their address?"""

import asyncio
import ssl
from pathlib import Path

import httpx

from service.web.tokens_issuers import Issuer
from service.web.tokens_jwks import BadKeys, Keys, read_jwks

MOST_BYTES = 256 * 1024
CONNECT_SECONDS = 3.0
READ_SECONDS = 5.0
WHOLE_SECONDS = 8.0


async def fetch_keys(issuer: Issuer) -> Keys:
    """Raises BadKeys, whatever went wrong."""
    try:
        async with asyncio.timeout(WHOLE_SECONDS):
            read = _from_address if issuer.by_address else _from_file
            return read_jwks(await read(issuer))
    except TimeoutError:
        raise BadKeys("It took too long.") from None
    except (httpx.HTTPError, httpx.InvalidURL, OSError) as error:
        raise BadKeys(f"It cannot be read: {type(error).__name__}.") from None


async def _from_address(issuer: Issuer) -> bytes:
    """Follows no redirect, goes by no proxy of the environment, takes nothing packed."""
    client = httpx.AsyncClient(
        timeout=httpx.Timeout(READ_SECONDS, connect=CONNECT_SECONDS),
        follow_redirects=False,
        trust_env=False,
        verify=_trust(issuer.ca_file),
        headers={"Accept": "application/json", "Accept-Encoding": "identity"},
    )
    async with client, client.stream("GET", issuer.jwks) as response:
        if response.status_code != httpx.codes.OK:
            raise BadKeys(f"It answered {response.status_code}.")
        body = b""
        async for part in response.aiter_raw():
            body += part
            if len(body) > MOST_BYTES:
                raise BadKeys(f"It has more than {MOST_BYTES} bytes.")
        return body


async def _from_file(issuer: Issuer) -> bytes:
    return await asyncio.to_thread(_read, Path(issuer.jwks))


def _read(path: Path) -> bytes:
    with path.open("rb") as held:
        body = held.read(MOST_BYTES + 1)
    if len(body) > MOST_BYTES:
        raise BadKeys(f"It has more than {MOST_BYTES} bytes.")
    return body


def _trust(ca_file: str | None) -> ssl.SSLContext:
    trust = ssl.create_default_context()
    if ca_file is not None:
        trust.load_verify_locations(ca_file)
    return trust
