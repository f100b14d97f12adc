"""Every address of the server's own description, asked with what fits it and what does not: never a fault."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loomwright.web.app import create_app
from loomwright.web.config import Config
from loomwright.web.worked import Shelf

PHONE = ("192.0.2.7", 50_000)
EXAMPLES = 6
WORDS = ("", "planned", "as-found", "P1", "battery", "battery.plus", "0", "-1", "1e999", "nan", "2147483648",
         "../../etc/passwd", "a\x00b", "\ud7ff\uffff", "<b>", "auto", "8 AWG", "seat", "amp_4x75_class_d")  # fmt: skip
ACCEPTS = ("text/html", "application/json", "*/*")


class Shop:
    """A server on the network, and a phone that has paired with it."""

    def __init__(self, folder: Path, shelf: Shelf, text: str) -> None:
        self.app = create_app(Config(str(folder / "jobs.db"), b"s" * 32, ("localhost",), lan=True), shelf)
        self.phone = TestClient(self.app, base_url="http://localhost", client=PHONE)
        self.bench = self.app.state.bench
        self.text = text
        self.token = ""
        self.job = ""

    def pair(self) -> None:
        form = {"write_token": token(self.phone.get("/pair").text), "code": self.bench.pairing.token}
        assert self.phone.post("/pair", data=form).status_code == 200
        self.token = token(self.phone.get("/settings").text)

    def known(self) -> dict[str, str]:
        """What names in an address may lead to; the job is there again if a request before took it away."""
        if not self.job:
            self.job = self.bench.store.create_job("A job").id
            self.bench.store.save_rig(self.job, "planned", self.text, 0)
        self.bench.store.restore_job(self.job)
        task = self.bench.shelf.worked(self.text, "planned").ask()
        return {"job_id": self.job, "stage": "planned", "name": "rig.toml", "key": task.key}


def token(page: str) -> str:
    found = re.search(r'<meta name="write-token" content="(\w+)">', page)
    assert found
    return found[1]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, shelf: Shelf) -> Iterator[Shop]:
    from loomwright.cli import samples

    made = Shop(tmp_path_factory.mktemp("phone"), shelf, samples.text(samples.BLANK))
    with made.phone:
        made.pair()
        yield made


def test_no_address_answers_with_a_fault(shop: Shop) -> None:
    described = schemathesis.openapi.from_dict(shop.app.openapi())
    found = [operation.ok() for operation in described.get_all_operations()]
    asked = [operation for operation in found if not operation.path.endswith("/events")]  # a stream has no end
    assert len(asked) > 40
    for operation in asked:
        bombard(shop, operation)


def bombard(shop: Shop, operation: Any) -> None:
    """Requests to one address: as described, at known and at unknown names, with the trade's words in some fields."""

    @settings(max_examples=EXAMPLES, deadline=None, derandomize=True, database=None,
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(operation.as_strategy(generation_mode=schemathesis.GenerationMode.POSITIVE), st.data())
    def ask(case: Any, data: st.DataObject) -> None:
        if data.draw(st.booleans(), "known names"):
            case.path_parameters.update({k: v for k, v in shop.known().items() if k in case.path_parameters})
        sent = case.as_transport_kwargs(base_url="http://localhost")
        for fields in (sent["params"], sent.get("data")):
            for key in sorted(fields or {}) if isinstance(fields, dict) else ():
                word = data.draw(st.sampled_from(WORDS), key) if data.draw(st.booleans()) else str(fields[key])
                fields[key] = word.encode("utf-8", "replace").decode()
        accept = data.draw(st.sampled_from(ACCEPTS))
        kinds = ("data", "files", "json", "content") if case.method == "POST" else ()
        body = {k: sent[k] for k in kinds if sent.get(k)}
        answer = shop.phone.request(
            case.method, sent["url"], params=sent["params"], follow_redirects=False,
            headers={"accept": accept, "x-write-token": shop.token}, **body,
        )  # fmt: skip
        assert answer.status_code < 500, (case.method, sent["url"], sent["params"], body, answer.text[:500])
        admitted = answer.status_code not in (401, 403)
        assert admitted or operation.path == "/pair", "the phone is paired and sends its token"

    ask()
