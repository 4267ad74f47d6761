"""Do many callers at once, over real connections, get one resource, one change and a whole walk?"""

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import httpx

from tests.clients.ward import PERSONS, Ward, amended, answers_of, moment, new_person

AT_ONCE = 12
RESPONSES = "/fhir/R4/QuestionnaireResponse"
ASKED = "urn:oid:2.999.20|"


def at_once(ask: Callable[[int], httpx.Response]) -> list[httpx.Response]:
    with ThreadPoolExecutor(AT_ONCE) as callers:
        return list(callers.map(ask, range(AT_ONCE)))


def statuses(answers: list[httpx.Response]) -> Counter[int]:
    return Counter(answer.status_code for answer in answers)


def test_one_response_is_made_of_many_updates_by_the_same_identifier(ward: Ward) -> None:
    name = new_person()
    sent = answers_of(new_person(), identifier={"system": ASKED[:-1], "value": name})
    query = {"identifier": ASKED + name}
    answers = at_once(lambda _: ward.server.client.put(RESPONSES, params=query, json=sent))

    assert statuses(answers) == {201: 1, 200: AT_ONCE - 1}
    assert len({answer.json()["id"] for answer in answers}) == 1
    assert ward.get("QuestionnaireResponse", **query, _summary="count")["total"] == 1


def test_one_response_is_made_of_many_conditional_creates(ward: Ward) -> None:
    name, sent = new_person(), answers_of(new_person())
    headers = {"If-None-Exist": f"identifier={ASKED}{name}"}
    answers = at_once(lambda _: ward.server.client.post(RESPONSES, json=sent, headers=headers))

    assert statuses(answers) == {201: 1, 200: AT_ONCE - 1}
    found = ward.get("QuestionnaireResponse", identifier=ASKED + name, _summary="count")
    assert found["total"] == 1


def test_one_of_many_corrections_of_one_version_is_kept(ward: Ward) -> None:
    kept = ward.server.client.post(RESPONSES, json=answers_of(new_person())).json()
    headers = {"If-Match": 'W/"1"'}

    def correct(caller: int) -> httpx.Response:
        body = amended(kept, seconds=40 + caller)
        return ward.server.client.put(f"{RESPONSES}/{kept['id']}", json=body, headers=headers)

    answers = at_once(correct)
    assert statuses(answers) == {200: 1, 412: AT_ONCE - 1}
    (won,) = (answer.json() for answer in answers if answer.status_code == 200)
    assert ward.get(f"QuestionnaireResponse/{kept['id']}") == won


def test_a_person_is_known_once_and_has_one_plan_however_many_screens_come_in(ward: Ward) -> None:
    person = new_person()

    def post(caller: int) -> httpx.Response:
        return ward.server.client.post(RESPONSES, json=answers_of(person, moment(5 + caller)))

    answers = at_once(post)
    assert statuses(answers) == {201: AT_ONCE}
    assert len({answer.json()["subject"]["reference"] for answer in answers}) == 1
    assert len(ward.get("Patient", identifier=f"{PERSONS}|{person}")["entry"]) == 1
    whose = {"patient.identifier": f"{PERSONS}|{person}"}
    (current,) = ward.get("CarePlan", **whose, status="active")["entry"]
    newest = answers[0].json()["id"]
    assert (
        current["resource"]["supportingInfo"][0]["reference"] == f"QuestionnaireResponse/{newest}"
    )
    assert ward.get("CarePlan", **whose, _summary="count")["total"] == AT_ONCE


def test_a_walk_shows_each_once_and_none_is_lost_while_others_come_in(ward: Ward) -> None:
    person = new_person()
    for minutes in range(30, 20, -1):
        ward.server.client.post(RESPONSES, json=answers_of(person, moment(minutes)))
    query = {"patient.identifier": f"{PERSONS}|{person}", "_count": "3", "_sort": "-_lastUpdated"}
    page = ward.get("QuestionnaireResponse", **query)
    before = {entry["resource"]["id"] for entry in page["entry"]}
    everything = ward.get("QuestionnaireResponse", **{**query, "_count": "50"})
    there = {entry["resource"]["id"] for entry in everything["entry"]}
    walked = [*before]
    while links := [one["url"] for one in page["link"] if one["relation"] == "next"]:
        ward.server.client.post(RESPONSES, json=answers_of(person, moment(3)))
        page = ward.get(links[0].partition("/fhir/R4/")[2])
        walked += [entry["resource"]["id"] for entry in page["entry"]]

    assert len(walked) == len(set(walked))
    assert there <= set(walked)
