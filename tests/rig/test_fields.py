"""One set of keys for validation, reference and editors."""

from __future__ import annotations

import tomllib
from typing import Any

from loomwright import demo
from loomwright.rig.fields import all_keys, catalogue_keys
from loomwright.rig.schema import catalogue_schema, json_schema


def test_every_key_has_a_description_and_a_type() -> None:
    for row in (*all_keys(), *catalogue_keys()):
        assert row.description.endswith((".", ";", "`")), row
        assert row.type, row


def test_a_key_that_ends_in_a_unit_says_it() -> None:
    units = {r.key: r.unit for r in all_keys()}
    assert (units["length_mm"], units["ambient_c"], units["drop_v"], units["charge_pct"]) == ("mm", "C", "V", "%")


def test_required_keys_have_no_default() -> None:
    needed = {(r.table, r.key) for r in all_keys() if not r.default}
    assert ("[[wire]]", "size") in needed
    assert ("[[wire]]", "length_mm") not in needed


def test_every_key_of_the_demo_rigs_is_in_the_list() -> None:
    known = {(r.table, r.key) for r in all_keys()}
    heads = {"vehicle": "[vehicle]", "limits": "[limits]"}
    for name in demo.names():
        for key, value in tomllib.loads(demo.text(name)).items():
            if key in heads:
                assert {(heads[key], k) for k in value} <= known
            elif key in ("place", "panel", "item"):
                assert {(f"[{key}.name]", k) for t in value.values() for k in t} <= known
            elif key in ("run", "wire"):
                assert {(f"[[{key}]]", k) for t in value for k in t} <= known
            else:
                assert ("top of the file", key) in known


def objects(schema: Any) -> list[dict[str, Any]]:
    return [schema, *schema["$defs"].values()]


def test_the_schema_is_closed_and_described() -> None:
    for schema in (json_schema(), catalogue_schema()):
        for table in objects(schema):
            if table.get("type") != "object":
                continue
            assert table["additionalProperties"] is False
            for key, value in table["properties"].items():
                assert "description" in value, key


def test_the_schema_names_keys_as_the_file_does() -> None:
    schema = json_schema()
    wire = schema["$defs"]["WireKeys"]
    assert {"from", "to"} <= set(wire["properties"])
    assert {"id", "from", "to", "size"} == set(wire["required"])
    assert schema["$schema"].startswith("https://json-schema.org/")
