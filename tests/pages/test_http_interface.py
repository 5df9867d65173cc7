"""The HTTP interface against its own description: whatever is asked, the answer is one that was promised.

Source: the OpenAPI description that the application gives of itself; Schemathesis 4 makes the requests.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from loomwright.pages.app import make_app
from loomwright.store.shelf import Shelf
from tests.pages.shelves import SMALL, asked_from, shelf_in

_CHECKS = (not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance)


_PATIENT = tuple(HealthCheck)
MADE_UP = 25
"""Requests made up for each address. [-]"""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[object]:
    shelf: Shelf = shelf_in(Path(tmp_path_factory.mktemp("http")), small=SMALL)
    app = make_app(shelf, who="sam")
    yield schemathesis.openapi.from_asgi("/openapi.json", asked_from(app))
    app.state.desk.bench.close()
    shelf.close()


def aimed(case: schemathesis.Case) -> schemathesis.Case:
    """Most requests made up go to a job and a sheet that are there, and none waits for news."""
    named = case.path_parameters or {}
    if len(str(named.get("job", ""))) % 3:
        named["job"] = "small"
    if len(str(named.get("sheet", ""))) % 2:
        named["sheet"] = "wires"
    if case.operation.path.endswith("/news"):
        case.query = {**(case.query or {}), "wait_s": 0}
    return case


def test_every_address_answers_as_it_says(made: schemathesis.BaseSchema) -> None:
    operations = [found.ok() for found in made.get_all_operations()]
    assert len(operations) > 15
    told = []
    for operation in operations:

        @settings(max_examples=MADE_UP, deadline=None, derandomize=True, database=None, suppress_health_check=_PATIENT)
        @given(case=operation.as_strategy())
        def holds(case: schemathesis.Case) -> None:
            aimed(case).call_and_validate(checks=_CHECKS)

        try:
            holds()
        except (Exception, BaseExceptionGroup) as fault:  # noqa: BLE001  # all addresses are told, not the first only
            told.append(f"{operation.label}: {fault} {getattr(fault, 'exceptions', '')}")
    assert told == []
