"""Is an alert found that can never fire, because it asks for a number that is not there?"""

import json

import yaml

from service.web.metrics import Metrics
from tests.house.conftest import Grow
from tests.house.tree import ROOT
from tests.house.watching import faults


def samples() -> dict[str, set[str]]:
    """Every sample that the service gives once each thing has happened, with its labels."""
    metrics = Metrics()
    metrics.answered("GET", "/v1/rules", 200, 0.1)
    metrics.limited(429)
    metrics.planned([("stand_aid", "bed_to_chair")])
    metrics.checked("disk", 1.0)
    metrics.refused = {"expired": 1}
    metrics.stands(running=0, queue=0)
    return {
        sample.name: set(sample.labels)
        for family in metrics.registry.collect()
        for sample in family.samples
    }


def test_every_alert_and_panel_asks_for_what_the_service_has() -> None:
    assert faults(ROOT, samples()) == []


def test_every_number_is_told_of_in_the_documents() -> None:
    text = (ROOT / "docs" / "operations.md").read_text(encoding="utf-8")
    families = {name.removesuffix("_bucket").removesuffix("_sum") for name in samples()}
    families = {name.removesuffix("_count") for name in families}
    assert [name for name in sorted(families) if f"`{name}`" not in text] == []


def test_alerts_and_panels_that_ask_for_nothing_are_found(grow: Grow) -> None:
    good = {"summary": "a", "action": "b"}
    rules = [
        {"alert": "A", "expr": "stanchion_nothing > 1", "labels": {"severity": "page"}},
        {
            "alert": "B",
            "expr": 'sum(stanchion_check{name="disk"} == 0',
            "labels": {"severity": "loud"},
            "annotations": good,
        },
        {
            "alert": "C",
            "expr": "vector(1)",
            "labels": {"severity": "page"},
            "annotations": good,
        },
    ]
    panel = {"id": 1, "title": "P", "targets": [{"expr": "stanchion_gone"}]}
    root = grow(
        {
            "docker/alerts.yaml": yaml.safe_dump({"groups": [{"name": "a", "rules": rules}]}),
            "docker/dashboard.json": json.dumps({"panels": [panel, panel | {"targets": []}]}),
        }
    )
    assert faults(root, samples()) == [
        "alerts.yaml: A: does not say what is so and what to do",
        "alerts.yaml: A: stanchion_nothing is not to be had",
        "alerts.yaml: B: does not say how urgent it is",
        "alerts.yaml: B: stanchion_check has no label name",
        "alerts.yaml: B: has a bracket too many",
        "alerts.yaml: C: asks for no number of the service",
        "dashboard.json: two panels have one id",
        "dashboard.json: P: stanchion_gone is not to be had",
    ]
