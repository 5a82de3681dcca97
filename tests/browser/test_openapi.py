"""Schemathesis, a general tester of OpenAPI, asks a real server all that its API names."""

from __future__ import annotations

from collections.abc import Callable

import requests
import schemathesis
from benches import Bench
from hypothesis import HealthCheck, Phase, given, settings

from seamlight.shop.wood import new_pair

EXAMPLES = 15
SETTLED = settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def test_no_answer_is_a_fault_and_every_refusal_says_what_to_do(open_bench: Callable[..., Bench]) -> None:
    bench = open_bench()
    with bench.shop.change("owner") as change:
        new_pair(change, kind="top")
    schema = schemathesis.openapi.from_url(f"{bench.address}/api/openapi.json")
    seen: dict[str, set[int]] = {}
    with requests.Session() as browser:
        token = browser.get(f"{bench.address}/api/csrf", timeout=30).json()["csrf"]

        def ask(case: schemathesis.Case) -> None:
            answer = case.call(session=browser, base_url=bench.address, headers={"x-csrf": token})
            assert answer.status_code < 500, (case.as_curl_command(), answer.text)
            if answer.status_code >= 400 and case.method != "HEAD":
                assert {"what", "do"} <= set(answer.json()), (case.as_curl_command(), answer.text)
            seen.setdefault(f"{case.operation.method.upper()} {case.path}", set()).add(answer.status_code)

        for found in schema.get_all_operations():
            SETTLED(given(case=found.ok().as_strategy())(ask))()
    assert len(seen) >= 12
    for path in ("GET /api/pairs", "GET /api/work", "GET /api/check"):
        assert 200 in seen[path]
