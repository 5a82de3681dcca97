"""Schemathesis, a general tester of OpenAPI, asks a real server all that its API names."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest
import requests
import schemathesis
from benches import Bench
from hypothesis import HealthCheck, Phase, given, settings

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "web"))  # the shop that the pages' tests file

from filed_pair import file_pair

EXAMPLES = {"sqlite": 15, "postgres": 4}
OF_A_PAIR = "/api/pairs/{pair_id}"
# What a pair that was laid out answers, whatever else is asked of it.
ALIVE = {
    f"GET {OF_A_PAIR}/work",
    f"GET {OF_A_PAIR}/reading",
    f"GET {OF_A_PAIR}/readings",
    f"POST {OF_A_PAIR}/judge",
    f"POST {OF_A_PAIR}/best",
    f"PUT {OF_A_PAIR}/choice",
    f"PUT {OF_A_PAIR}/flaws/{{leaf}}",
    "POST /api/stages",
    "GET /api/pairs",
    "GET /api/work",
    "GET /api/check",
    "GET /api/bench",
    "GET /api/builds",
    "GET /api/match",
}


def asking(examples: int) -> settings:
    return settings(
        max_examples=examples,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )


@pytest.mark.parametrize("database", ["sqlite", "postgres"])
def test_no_answer_is_a_fault_and_every_refusal_says_what_to_do(
    open_bench: Callable[..., Bench], request: pytest.FixtureRequest, database: str
) -> None:
    url = request.getfixturevalue("ready")() if database == "postgres" else None
    bench = open_bench(url=url)
    pair = file_pair(bench.shop)
    schema = schemathesis.openapi.from_url(f"{bench.address}/api/openapi.json")
    seen: dict[str, set[int]] = {}
    with requests.Session() as browser:
        token = browser.get(f"{bench.address}/api/csrf", timeout=30).json()["csrf"]

        def check(case: schemathesis.Case) -> None:
            answer = case.call(session=browser, base_url=bench.address, headers={"x-csrf": token})
            assert answer.status_code < 500, (case.as_curl_command(), answer.text)
            if answer.status_code >= 400 and case.method != "HEAD":
                assert {"what", "do"} <= set(answer.json()), (case.as_curl_command(), answer.text)
            seen.setdefault(f"{case.operation.method.upper()} {case.path}", set()).add(answer.status_code)

        def of_the_pair(case: schemathesis.Case) -> None:
            _make_real(case, pair.id, browser, bench.address)
            check(case)

        for found in schema.get_all_operations():
            cases = found.ok().as_strategy()
            asking(EXAMPLES[database])(given(case=cases)(check))()
            asking(3)(given(case=cases)(of_the_pair))()
    assert len(seen) >= 12
    assert {asked for asked in ALIVE if 200 not in seen[asked]} == set()


def _make_real(case: schemathesis.Case, pair_id: int, browser: requests.Session, address: str) -> None:
    """A made-up case, asked of the pair that is there, with its own placing and versions."""
    if "pair_id" in case.path_parameters:
        case.path_parameters["pair_id"] = pair_id
    work = browser.get(f"{address}/api/pairs/{pair_id}/work", timeout=30).json()
    placing = work["judged"]["placing"]
    way = {name: placing[name] for name in ("joint_edge", "neck_end", "show_face")}
    leaf = case.path_parameters.get("leaf", "a")
    versions = {"a": work["flaws"]["a"]["version"], "b": work["flaws"]["b"]["version"]}
    bodies = {
        "/judge": {"outline": "parlour", "placing": placing},
        "/best": {"outline": "parlour", **way},
        "/choice": {"outline": "parlour", "placing": placing, "version": work["version"]},
        "/flaws/{leaf}": {"edits": {}, "version": versions.get(leaf, 0)},
        "/api/stages": {"pairs": [pair_id], "stage": "laid out"},
    }
    for ending, body in bodies.items():
        if case.operation.path.endswith(ending):
            case.body = body
    if case.operation.path.endswith(("/work", "/flaws/{leaf}")):
        case.query = {"outline": "parlour"}
