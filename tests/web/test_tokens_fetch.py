"""Are the keys read from a file and from a real server, and nothing worse than keys?"""

import gzip
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.web import tokens_fetch
from service.web.tokens_fetch import MOST_BYTES, fetch_keys
from service.web.tokens_issuers import Issuer
from service.web.tokens_jwks import BadKeys
from tests.web.tokens_desk import issuer
from tests.web.tokens_world import KeyServer, certificate, jwk, jwks, key_server, rsa_key

SET = jwks(jwk(rsa_key(), "one"))


@pytest.fixture(scope="module")
def shared() -> Iterator[KeyServer]:
    with key_server() as one:
        yield one


@pytest.fixture
def server(shared: KeyServer) -> KeyServer:
    shared.body, shared.status, shared.headers, shared.pause, shared.asked = SET, 200, {}, 0.0, 0
    return shared


def at(server: KeyServer) -> Issuer:
    return issuer(jwks=server.url)


async def fault(one: Issuer) -> str:
    with pytest.raises(BadKeys) as refused:
        await fetch_keys(one)
    return str(refused.value)


async def test_keys_are_read_from_a_server_and_from_a_file(
    server: KeyServer, tmp_path: Path
) -> None:
    assert list(await fetch_keys(at(server))) == ["one"]
    held = tmp_path / "keys.json"
    held.write_bytes(SET)
    assert list(await fetch_keys(issuer(jwks=str(held)))) == ["one"]


async def test_what_is_too_large_is_not_taken(server: KeyServer, tmp_path: Path) -> None:
    server.body = SET + b" " * MOST_BYTES
    assert "bytes" in await fault(at(server))
    held = tmp_path / "keys.json"
    held.write_bytes(server.body)
    assert "bytes" in await fault(issuer(jwks=str(held)))


@pytest.mark.parametrize("status", [204, 301, 302, 401, 404, 500, 503])
async def test_any_other_answer_is_no_set_of_keys(server: KeyServer, status: int) -> None:
    server.status = status
    server.headers = {"Location": server.url}
    assert await fault(at(server)) == f"It answered {status}."
    assert server.asked == 1


async def test_what_comes_packed_is_not_unpacked(server: KeyServer) -> None:
    server.body, server.headers = gzip.compress(SET), {"Content-Encoding": "gzip"}
    assert await fault(at(server)) == "It is no JWK Set."


async def test_a_slow_server_is_not_waited_for(
    server: KeyServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    server.pause = 0.3
    monkeypatch.setattr(tokens_fetch, "WHOLE_SECONDS", 0.05)
    assert await fault(at(server)) == "It took too long."
    monkeypatch.setattr(tokens_fetch, "READ_SECONDS", 0.05)
    monkeypatch.setattr(tokens_fetch, "WHOLE_SECONDS", 5.0)
    assert "ReadTimeout" in await fault(at(server))


async def test_nobody_there_is_a_fault_like_any_other(tmp_path: Path) -> None:
    assert "ConnectError" in await fault(issuer(jwks="http://127.0.0.1:9/jwks"))
    assert "FileNotFoundError" in await fault(issuer(jwks=str(tmp_path / "none")))
    lost = issuer(jwks="http://127.0.0.1:9/jwks", ca_file=str(tmp_path / "none"))
    assert "FileNotFoundError" in await fault(lost)


async def test_a_proxy_of_the_environment_is_not_asked(
    server: KeyServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HTTP_PROXY", "http://127.0.0.1:9")
    monkeypatch.setenv("ALL_PROXY", "http://127.0.0.1:9")
    assert list(await fetch_keys(at(server))) == ["one"]


async def test_a_certificate_of_one_s_own_is_trusted_only_where_it_is_named(
    tmp_path: Path,
) -> None:
    public, private = certificate(tmp_path)
    with key_server((public, private)) as server:
        server.body = SET
        named = issuer(jwks=server.url, ca_file=str(public))
        assert list(await fetch_keys(named)) == ["one"]
        assert "ConnectError" in await fault(issuer(jwks=server.url))
        another = named.jwks.replace("127.0.0.1", "localhost")
        assert "ConnectError" in await fault(issuer(jwks=another, ca_file=str(public)))
