"""Whatever is sent to whichever address: an answer, never a fault of the server."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

WORDS = st.one_of(
    st.text(max_size=40),
    st.sampled_from(["", "planned", "as-found", "P1", "battery", "battery.plus", "0", "-1", "1e999", "nan",
                     "2147483648", "../../etc/passwd", "a\x00b", "\ud7ff\uffff", "<b>", "auto", "8 AWG", "seat",
                     "amp_4x75_class_d"]),
)  # fmt: skip


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_no_request_brings_the_server_down(browser: Any, small: str, data: st.DataObject) -> None:
    if not browser.bench.store.jobs():
        browser.job(small)
    job = browser.bench.store.jobs()[0].id
    paths = browser.client.app.openapi()["paths"]
    path = data.draw(st.sampled_from(sorted(p for p in paths if not p.endswith("/events"))))
    method = data.draw(st.sampled_from(sorted(paths[path])))
    spec = paths[path][method]
    query = {}
    for given_ in spec.get("parameters", []):
        name = given_["name"]
        if given_["in"] == "path":
            usual = {"job_id": job, "stage": "planned", "name": "rig.toml"}.get(name, "x")
            value = data.draw(st.one_of(st.just(usual), WORDS))
            path = path.replace("{" + name + "}", quote(value, safe="") or "x")
        elif given_["in"] == "query" and data.draw(st.booleans()):
            query[name] = data.draw(WORDS)
    fields = {}
    if method == "post":
        content = spec["requestBody"]["content"]
        reference = next(iter(content.values()))["schema"].get("$ref", "").rpartition("/")[2]
        keys = browser.client.app.openapi()["components"]["schemas"].get(reference, {}).get("properties", {})
        fields = {k: data.draw(WORDS) for k in keys if k != "file"}
        fields["write_token"] = browser.token
    accept = data.draw(st.sampled_from(["text/html", "application/json"]))
    answer = browser.client.request(
        method, path, params=query, data=fields or None, headers={"accept": accept}, follow_redirects=False
    )
    assert answer.status_code < 500, (method, path, query, fields, answer.text[:500])
