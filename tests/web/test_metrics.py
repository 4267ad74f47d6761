"""Is what happens counted, under labels that nobody outside can choose?"""

from service.web.metrics import Metrics


def value(metrics: Metrics, name: str, **labels: str) -> float:
    found = metrics.registry.get_sample_value(f"stanchion_{name}", labels)
    return -1.0 if found is None else found


def test_answers_are_counted_by_template_method_and_status() -> None:
    metrics = Metrics()
    for method, status in (("GET", 200), ("GET", 200), ("GET", 404), ("MARA", 400)):
        metrics.answered(method, "/v1/plans/{plan_id}", status, 0.004)
    labels = {"method": "GET", "route": "/v1/plans/{plan_id}"}
    assert value(metrics, "requests_total", **labels, status="200") == 2
    assert value(metrics, "requests_total", **labels, status="404") == 1
    labels["method"] = "other"
    assert value(metrics, "requests_total", **labels, status="400") == 1
    assert b"MARA" not in metrics.text()
    route = {"route": "/v1/plans/{plan_id}"}
    assert value(metrics, "request_seconds_bucket", **route, le="0.0025") == 0
    assert value(metrics, "request_seconds_bucket", **route, le="0.005") == 4


def test_a_kept_screen_is_counted_with_the_method_of_each_move() -> None:
    metrics = Metrics()
    metrics.planned([("stand_aid", "bed_to_chair"), ("sling_lift", "up_from_floor")])
    metrics.planned([("stand_aid", "bed_to_chair")])
    assert value(metrics, "screens_total") == 2
    chosen = {"method": "stand_aid", "move": "bed_to_chair"}
    assert value(metrics, "moves_planned_total", **chosen) == 2


def test_what_the_store_does_is_counted() -> None:
    metrics = Metrics()
    metrics.committed(3, 0.002)
    metrics.committed(40, 0.03)
    metrics.lapsed(2)
    metrics.stands(running=5, queue=7)
    metrics.outbox(4, 12.5)
    metrics.disk(1024)
    assert value(metrics, "commit_batch_size_bucket", le="4.0") == 1
    assert value(metrics, "commit_batch_size_sum") == 43
    assert value(metrics, "commit_seconds_count") == 2
    assert value(metrics, "plans_lapsed_total") == 2
    assert (value(metrics, "requests_running"), value(metrics, "write_queue_depth")) == (5, 7)
    assert (value(metrics, "outbox_depth"), value(metrics, "outbox_age_seconds")) == (4, 12.5)
    assert value(metrics, "disk_free_bytes") == 1024


def test_refusals_failures_and_checks_are_counted() -> None:
    metrics = Metrics()
    counts = {"expired": 3}
    metrics.refused = counts
    metrics.stands(running=0, queue=0)
    counts["unknown"] = 1
    metrics.stands(running=0, queue=0)
    metrics.limited(429)
    metrics.unaudited()
    metrics.checked("disk", 0.5)
    assert value(metrics, "credentials_refused_total", reason="expired") == 3
    assert value(metrics, "credentials_refused_total", reason="unknown") == 1
    assert value(metrics, "limited_total", status="429") == 1
    assert value(metrics, "audit_failures_total") == 1
    assert value(metrics, "check", check="disk") == 0.5


def test_two_services_count_apart() -> None:
    one, other = Metrics(), Metrics()
    one.lapsed(1)
    assert (value(one, "plans_lapsed_total"), value(other, "plans_lapsed_total")) == (1, 0)
