"""Is every word that was given still kept, after all that was done to the database?"""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import httpx
import msgspec

from service.storage.chain import COMMANDS, SERVING
from service.storage.place import Server
from service.storage.verify import verify_audit
from tests.exercises.clients import Answered, Told
from tests.storage.made import rows_of, sql_of

AT_ONCE = 8
# Where each patient's pointer must stand: the latest observed screen that is not withdrawn.
ASTRAY = """
SELECT patient.org, patient.id FROM patient
JOIN LATERAL (
  SELECT plan.id FROM screen JOIN plan ON plan.screen = screen.id
  WHERE screen.org = patient.org AND screen.patient = patient.id AND screen.version = 1
  ORDER BY screen.observed DESC, screen.id DESC LIMIT 1
) foremost ON true
WHERE patient.current_plan IS DISTINCT FROM foremost.id
"""
# A chain counts its entries from 1; the commands of an organisation have a chain of their own.
GAPS = """
SELECT org, chain, count(*), min(seq), max(seq) FROM audit GROUP BY org, chain
HAVING count(*) <> max(seq) OR min(seq) <> 1
"""
CHAINS = "SELECT org, chain, max(seq) FROM audit GROUP BY org, chain ORDER BY org, chain"
TWICE = """
SELECT key FROM idempotency WHERE key <> '' GROUP BY key HAVING count(DISTINCT screen) <> 1
"""
# Each screen of this exercise was sent with a key: one without a claim is one kept twice.
UNCLAIMED = """
SELECT id FROM screen WHERE version = 1 AND id NOT IN (SELECT screen FROM idempotency)
"""
REVISIONS = """
SELECT patient FROM plan_event GROUP BY patient HAVING count(*) <> count(DISTINCT rev)
"""


def faults(base: str, place: Server, told: Told) -> list[str]:
    """Every word that was not kept."""
    return [*told.gave_up, *_record(place, told), *_answers(base, told)]


def _record(place: Server, told: Told) -> Iterator[str]:
    report = verify_audit(place)
    yield from (f"audit: {fault}" for fault in report.faults)
    for name, statement in (
        ("a pointer is astray", ASTRAY),
        ("a gap in a chain", GAPS),
        ("a key that made two", TWICE),
        ("a screen without its key", UNCLAIMED),
        ("two events of one revision", REVISIONS),
    ):
        yield from (f"{name}: {row}" for row in sql_of(place, statement))
    chains = sql_of(place, CHAINS)
    if {chain for _, chain, _ in chains} - {SERVING, COMMANDS}:
        yield f"an organisation with more than its chains: {chains}"
    screens, plans = rows_of(place, "screen"), rows_of(place, "plan")
    keys = len({each.key for each in told.answered})
    if not (screens == plans >= keys == len(told.answered)):
        yield f"{screens} screens, {plans} plans, {len(told.answered)} answered with {keys} keys"


def _answers(base: str, told: Told) -> Iterator[str]:
    with (
        httpx.Client(base_url=base, timeout=60) as client,
        ThreadPoolExecutor(AT_ONCE) as pool,
    ):
        for said in pool.map(lambda each: list(_one(client, each)), told.answered):
            yield from said


def _one(client: httpx.Client, each: Answered) -> Iterator[str]:
    headers = {"Authorization": f"Bearer {each.api_key}"}
    read = client.get(each.path, headers=headers)
    if read.status_code != 200:
        yield f"{each.path} was answered and reads {read.status_code}"
        return
    same = read.headers["etag"] == each.etag
    if same and read.content != each.content:
        yield f"{each.path}, of the same tag, {_other(read, each)}"
    if _fixed(read.content) != _fixed(each.content):
        yield f"{each.path}: {_other(read, each)}"
    headers |= {"Idempotency-Key": each.key, "Content-Type": "application/json"}
    again = client.post("/v1/screens", content=each.body, headers=headers)
    if (again.status_code, again.headers.get("location")) != (201, each.path):
        yield f"{each.path} asked again: {again.status_code} {again.headers.get('location')}"
    elif "idempotency-replayed" not in again.headers:
        yield f"{each.path} asked again is no replay"
    elif _fixed(again.content) != _fixed(each.content):
        yield f"{each.path} asked again, after {each.tries} tries, is {_other(again, each)}"


def _other(now: httpx.Response, each: Answered) -> str:
    """Where the two differ first."""
    pairs = enumerate(zip(now.content, each.content, strict=False))
    at = next((at for at, (one, two) in pairs if one != two), len(each.content))
    part = slice(max(0, at - 60), at + 60)
    return f"answered otherwise: {now.content[part]!r}, before {each.content[part]!r}"


def _fixed(content: bytes) -> bytes:
    """The answer without what goes on: whether its plan is the current one, and since when."""
    answer = msgspec.json.decode(content)
    plan = answer["plan"]
    for name in ("state", "version", "state_since", "superseded_by", "replaces"):
        plan.pop(name, None)
    return msgspec.json.encode(answer)
