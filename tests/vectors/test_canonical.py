"""Canonical JSON against published values: RFC 8785.

The six files: cyberphone/json-canonicalization, commit 19d51d7f, testdata; kept beside the project, skipped
where they are missing. The numbers: RFC 8785 Appendix B, all 24 that have a form and the two that have none.
"""

from __future__ import annotations

import json
import struct
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rfc8785 import FloatDomainError, IntegerDomainError

from service.domain.nouns.site import SHELVES, Hold
from service.history.facts.encoding import canonical, canonical_of, canonical_told, to_json
from tests.history.random_story import Teller
from tests.history.story import NOON

FILES = Path(__file__).parents[3] / "shared" / "data" / "vectors" / "jcs"
NUMBERS = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "ffefffffffffffff": "-1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "c340000000000000": "-9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}


@pytest.mark.parametrize("name", ["arrays", "french", "structures", "unicode", "values", "weird"])
def test_a_published_file_comes_out_byte_for_byte(name: str) -> None:
    if not FILES.exists():
        pytest.skip("the published files are not beside the project")
    wanted = bytes.fromhex((FILES / "outhex" / f"{name}.txt").read_text())
    assert canonical(json.loads((FILES / "input" / f"{name}.json").read_text())) == wanted


def test_the_rfcs_own_sample_is_sorted_by_utf_16() -> None:
    given = (
        '{"1":{"f":{"f":"hi","F":5},"\\n":56.0},"10":{},"":"empty","a":{},'
        '"111":[{"e":"yes","E":"no"}],"A":{}}'
    )
    wanted = (
        '{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{"E":"no","e":"yes"}],"A":{},"a":{}}'
    )
    assert canonical(json.loads(given)).decode() == wanted


@pytest.mark.parametrize("bits", NUMBERS)
def test_a_number_has_the_one_form_that_the_rfc_gives(bits: str) -> None:
    assert len(NUMBERS) == 24
    assert canonical(struct.unpack(">d", bytes.fromhex(bits))[0]).decode() == NUMBERS[bits]


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000"])
def test_what_is_no_number_has_no_form(bits: str) -> None:
    with pytest.raises(FloatDomainError):
        canonical(struct.unpack(">d", bytes.fromhex(bits))[0])


def test_a_whole_number_that_a_double_cannot_hold_is_refused() -> None:
    assert canonical(2**53 - 1) == b"9007199254740991"
    with pytest.raises(IntegerDomainError):
        canonical(2**53)


@pytest.mark.parametrize("seed", range(3))
def test_what_the_history_knows_has_the_same_form_the_quick_way(seed: int) -> None:
    """Every noun of a random story, and words with every sign that is written otherwise than it is."""
    teller = Teller(seed)
    for fact in teller.tell(60):
        teller.story.tell(fact)
    site = teller.story.site
    nouns = [site.project, *(noun for shelf in SHELVES.values() for noun in getattr(site, shelf).values())]
    assert len(nouns) > 20
    words = "".join(map(chr, range(0x20))) + '\x7f"\\/\u2028\u00e9\U0001f4a7\ud7ff\ue000'
    for noun in (*nouns, Hold("h", "z", "frost", words, "b", NOON, None)):
        assert canonical_of(noun) == canonical_told(to_json(noun)) == canonical(to_json(noun))


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text("abz_09", max_size=6), inner, max_size=4)
    ),
    max_leaves=12,
)


@given(VALUES)
def test_what_is_told_has_the_same_form_the_quick_way(value: object) -> None:
    assert canonical_told(value) == canonical(value)


@pytest.mark.parametrize("value", [2**53, -(2**53), 10**16, "\ud800", {"at": [1, 2**60]}], ids=repr)
def test_the_quick_way_refuses_what_has_no_form(value: object) -> None:
    with pytest.raises(ValueError) as usual:
        canonical(value)
    with pytest.raises(type(usual.value)):
        canonical_told(value)
