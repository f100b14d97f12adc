"""Who signs is not who did it: names as the eye takes them."""

from __future__ import annotations

import pytest

from loomwright.errors import InputError
from loomwright.jobs.names import same_name
from loomwright.jobs.store import Store


@pytest.mark.parametrize(("a", "b"), [
    ("Ada", " ada "), ("Ada Poe", "ADA  POE"), ("Ada", "\u0410d\u0430"), ("Tom", "\u0422\u043em"),
    ("Nora", "\u039dora"), ("A. Poe", "A Poe"), ("Ren\u00e9", "Rene\u0301"), ("Al", "AI"), ("Ada", "A\u200bda"),
    ("\uff21\uff44\uff41", "Ada"), ("Stra\u00dfe", "STRASSE"),
])  # fmt: skip
def test_names_that_look_alike_are_one(a: str, b: str) -> None:
    assert same_name(a, b)
    assert same_name(b, a)


@pytest.mark.parametrize(("a", "b"), [
    ("Ada", "Eda"), ("Cal", "Cai"), ("Ada Poe", "Ada Roe"), ("\u0930\u093e\u092e", "\u0930\u092e\u093e"), ("!", "?"),
    ("\u0418\u0432\u0430\u043d", "\u0418\u0432\u043e\u043d"),
])  # fmt: skip
def test_names_that_do_not_are_two(a: str, b: str) -> None:
    assert not same_name(a, b)


def test_the_gate_refuses_the_same_name_in_other_letters(store: Store) -> None:
    job = store.create_job("x").id
    store.add_act(job, "planned", "phone-0001", "isolate", "done", "Ada Poe")
    with pytest.raises(InputError, match="another name"):
        store.add_act(job, "planned", "phone-0002", "isolate", "signed", "\u0410da P\u043ee")
    store.add_act(job, "planned", "phone-0003", "isolate", "signed", "Bo")
