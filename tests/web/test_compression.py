"""Is an answer packed as the client asked, and is what comes out what went in?"""

import gzip

import brotli
import pytest

from service.web.compression import Coding, coding_of, compressed

BODY = b'{"method": "stand_aid"}' * 100


@pytest.mark.parametrize(
    ("accepted", "coding"),
    [
        ("", None),
        ("br, gzip", "br"),
        ("gzip, br", "br"),
        ("gzip", "gzip"),
        ("GZIP ; q=0.5", "gzip"),
        ("br;q=0.1, gzip;q=0.9", "gzip"),
        ("br;q=0, gzip", "gzip"),
        ("br;q=0, gzip;q=0.000", None),
        ("*", "br"),
        ("*;q=0", None),
        ("br;q=0, *", "gzip"),
        ("identity", None),
        ("identity, gzip;q=0.5", None),
        ("identity;q=0.5, gzip;q=0.5", "gzip"),
        ("deflate, zstd", None),
        ("gzip;q=often", None),
        ("gzip;level=9", "gzip"),
    ],
)
def test_the_coding_follows_what_the_client_says_it_reads(
    accepted: str, coding: str | None
) -> None:
    assert coding_of(accepted) == coding


def test_what_is_packed_can_be_unpacked_and_is_the_same_every_time() -> None:
    for coding, unpack in ((Coding.GZIP, gzip.decompress), (Coding.BR, brotli.decompress)):
        packed = compressed(BODY, coding)
        assert unpack(packed) == BODY
        assert len(packed) < len(BODY) / 4
        assert packed == compressed(BODY, coding)
