"""Do several processes count as one, though one of them is killed and another takes its place?"""

import os
import signal
import subprocess
import sys
from pathlib import Path

from tests.house.tree import ROOT

COUNTS = """
import sys
from pathlib import Path
from service.web.metrics import Metrics
from service.web.metrics_shared import share

folder, place = Path(sys.argv[1]), int(sys.argv[2])
share(folder, place)
metrics = Metrics(folder)
metrics.answered("GET", "/v1/plans/{plan_id}", 200, 0.004 * (place + 1))
metrics.planned([("stand_aid", "bed_to_chair")])
metrics.committed(3, 0.002)
metrics.refused = {"expired": 2}
metrics.stands(running=place + 1, queue=2)
metrics.checked("database", place / 2)
metrics.outbox(place, 1.5)
print(metrics.text().decode(), flush=True)
sys.stdin.read()
"""


def counting(folder: Path, place: int) -> str:
    """What a process tells that counts in this place, and is killed then."""
    process = subprocess.Popen(
        [sys.executable, "-c", COUNTS, str(folder), str(place)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    lines = []
    while (line := process.stdout.readline()).strip():
        lines.append(line)
    os.kill(process.pid, signal.SIGKILL)
    process.communicate()
    return "".join(lines)


def test_each_tells_what_all_have_counted_also_the_one_that_is_gone(tmp_path: Path) -> None:
    counting(tmp_path, 0)
    text = counting(tmp_path, 1)
    for line in (
        'stanchion_requests_total{method="GET",route="/v1/plans/{plan_id}",status="200"} 2.0',
        'stanchion_request_seconds_bucket{le="0.005",route="/v1/plans/{plan_id}"} 1.0',
        'stanchion_request_seconds_bucket{le="0.01",route="/v1/plans/{plan_id}"} 2.0',
        'stanchion_moves_planned_total{method="stand_aid",move="bed_to_chair"} 2.0',
        "stanchion_commit_batch_size_sum 6.0",
        'stanchion_credentials_refused_total{reason="expired"} 4.0',
    ):
        assert line in text


def test_what_is_so_now_is_added_up_or_the_last_word_holds(tmp_path: Path) -> None:
    counting(tmp_path, 0)
    text = counting(tmp_path, 1)
    assert "stanchion_requests_running 3.0" in text
    assert "stanchion_write_queue_depth 4.0" in text
    assert 'stanchion_check{check="database"} 0.5' in text
    assert "stanchion_outbox_depth 1.0" in text
    assert "stanchion_release{" in text and "} 1.0" in text.split("stanchion_release{")[1]


def test_who_takes_the_place_of_another_goes_on_counting(tmp_path: Path) -> None:
    counting(tmp_path, 0)
    text = counting(tmp_path, 0)
    assert "stanchion_screens_total 2.0" in text
    assert "stanchion_requests_running 1.0" in text
