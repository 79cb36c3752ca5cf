"""What the desk's description of its API says, held against what it does: schemathesis sends what fits it and what does not."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis import given as given_cases
from schemathesis.checks import CHECKS, load_all_checks, not_a_server_error

from desk_process import Desk, Person

load_all_checks()
HELD = [
    not_a_server_error,
    *CHECKS.get_by_names(
        [
            "status_code_conformance",
            "content_type_conformance",
            "response_headers_conformance",
            "response_schema_conformance",
        ]
    ),
]


@pytest.fixture(scope="module")
def writer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Person]:
    """A writer at a desk with one note."""
    desk = Desk(tmp_path_factory.mktemp("desk"))
    desk.start()
    person = Person(desk.url)
    person.take("Ball joint is worn. Left front tire is worn, replace.", "a-note-to-look-at")
    yield person
    person.close()
    desk.stop()


def operations(writer: Person) -> dict[str, schemathesis.APIOperation]:
    schema = schemathesis.openapi.from_dict(writer.get("/api/openapi.json").json())
    return {f"{found.ok().method.upper()} {found.ok().path}": found.ok() for found in schema.get_all_operations()}


EXPECTED = ["GET /api/parts", "GET /api/notes/{note_id}", "POST /api/notes", "GET /api/orders/{order_id}"]


def test_the_description_names_what_the_desk_answers(writer: Person) -> None:
    assert sorted(operations(writer)) == sorted(EXPECTED)


@pytest.mark.parametrize("signed_in", [True, False], ids=["signed in", "not signed in"])
@pytest.mark.parametrize("name", EXPECTED)
def test_the_desk_answers_as_described(writer: Person, name: str, signed_in: bool) -> None:
    cookies = {c.name: c.value or "" for c in writer.client.cookies.jar} if signed_in else {}
    base = str(writer.client.base_url).rstrip("/")
    operation = operations(writer)[name]
    seen: set[int] = set()

    for mode in schemathesis.GenerationMode:

        @seed(7)
        @settings(
            max_examples=25 if signed_in else 5, deadline=None, database=None, suppress_health_check=list(HealthCheck),
            phases=[Phase.generate],
        )  # fmt: skip
        @given_cases(case=operation.as_strategy(generation_mode=mode))
        def held(case: schemathesis.Case) -> None:
            answer = case.call(base_url=base, headers={"x-form-key": writer.key}, cookies=cookies)
            seen.add(answer.status_code)
            case.validate_response(answer, checks=HELD)

        held()

    assert seen == {401} if not signed_in else seen - {401, 422}, seen


@pytest.mark.parametrize(
    ("name", "given"),
    [
        ("GET /api/parts", {"query": {"q": "tire"}}),
        ("GET /api/notes/{note_id}", {"path_parameters": {"note_id": 1}}),
        ("GET /api/orders/{order_id}", {"path_parameters": {"order_id": 1}}),
    ],
)
def test_what_is_there_comes_as_described(writer: Person, name: str, given: dict[str, dict[str, object]]) -> None:
    case = operations(writer)[name].Case(**given)
    cookies = {c.name: c.value or "" for c in writer.client.cookies.jar}
    answer = case.call(base_url=str(writer.client.base_url).rstrip("/"), cookies=cookies)
    case.validate_response(answer, checks=HELD)
    assert answer.status_code == 200 and answer.json()
