"""Trade sizes: read as people write them, refused in words that name the sizes there are."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.installed.trade_sizes import (
    BAR,
    COPPER,
    EMT,
    KINDS,
    MEASURED,
    PVC,
    STEEL,
    NoSuchSize,
    size_of,
    sizes,
)


def test_a_half_inch_pipe_is_exactly_its_decimals_of_an_inch() -> None:
    assert size_of("steel pipe", "NPS 1/2").od_nm == 21_336_000


@pytest.mark.parametrize(
    "written",
    [
        "NPS 1-1/2", "nps 1 1/2", " 1 1/2", "1-1/2 in", "1-1/2 in.", "1 1/2 inch", "1.5", "1½",
        '1-1/2"', "1½″", "NPS1-1/2", "1–1/2", "1 ½ inches", "1-1/2''", "nominal 1 1/2", "1 1⁄2 in",
    ],
)  # fmt: skip
def test_a_pipe_size_is_read_however_it_is_written(written: str) -> None:
    assert size_of("PVC pipe", written).name == "NPS 1-1/2"
    assert size_of("EMT conduit", written).name == "1-1/2 in"


@pytest.mark.parametrize("written", ["#9", "9", "No. 9", "no 9", "NO.9", " # 9 ", "bar 9", "bar #9"])
def test_a_bar_is_read_however_it_is_written(written: str) -> None:
    assert size_of("reinforcing bar", written).name == "#9"


@pytest.mark.parametrize("kind", KINDS)
def test_every_size_is_found_by_the_name_it_is_listed_under(kind: str) -> None:
    for size in sizes(kind):
        assert size_of(kind, size.name) == size
        assert size.kind == kind and size.source


@pytest.mark.parametrize(
    ("kind", "written"),
    [
        (PVC, "7"), (PVC, ""), (PVC, "NPS"), (PVC, "large"), (PVC, "#4"), (PVC, "4 mm"), (PVC, "DN 100"),
        (PVC, "4 ft"), (PVC, "-4"), (PVC, "0"), (PVC, "1/0"), (PVC, "4.500"), (PVC, "9" * 400),
        (PVC, " " * 4000),
        (BAR, "#12"), (BAR, "9 in"), (BAR, "1-1/8"), (BAR, "9.0"), (BAR, "#"), (BAR, "NPS 4"), (BAR, "-9"),
        (EMT, "NPS 5"), (COPPER, "1.125"),
    ],
)  # fmt: skip
def test_a_size_there_is_not_is_refused_with_the_sizes_there_are(kind: str, written: str) -> None:
    with pytest.raises(NoSuchSize) as refused:
        size_of(kind, written)
    for size in sizes(kind):
        assert size.name in str(refused.value)


def test_the_refusal_reads_as_a_sentence() -> None:
    with pytest.raises(
        NoSuchSize, match=r"^SDR 35 sewer pipe comes in 4 in, 6 in and 8 in\. Anything else: meas"
    ):
        size_of("SDR 35 sewer pipe", "5")
    with pytest.raises(NoSuchSize, match=r"^PVC pipe comes in NPS 1/2, NPS 3/4, .* and NPS 12\. "):
        size_of("PVC pipe", "14")


@pytest.mark.parametrize("kind", MEASURED)
def test_what_is_always_measured_offers_no_size(kind: str) -> None:
    assert sizes(kind) == ()
    with pytest.raises(NoSuchSize, match="measure across its outside"):
        size_of(kind, "4")


def test_a_kind_there_is_not_is_refused_with_the_kinds_there_are() -> None:
    with pytest.raises(NoSuchSize, match="column blockout"):
        size_of("bamboo", "4")
    with pytest.raises(NoSuchSize, match="steel pipe"):
        sizes("bamboo")


def test_what_was_not_seen_in_print_says_so() -> None:
    """Four sizes of rigid conduit were seen in a published table; the rest, and PVC pipe, are remembered."""
    remembered = {s.name for s in sizes("rigid PVC conduit") if "from memory, not verified" in s.source}
    assert {s.name for s in sizes("rigid PVC conduit")} - remembered == {
        "1/2 in",
        "3/4 in",
        "1 in",
        "1-1/4 in",
    }
    assert all("from memory, not verified" in s.source for s in sizes("PVC pipe"))
    assert all("ASME B36.10M" in s.source for s in sizes(STEEL))
    assert "1.503" in size_of("EMT conduit", "1-1/4").source
    assert all("nominal" in s.source and "no source" in s.source for s in sizes(BAR))


@given(st.sampled_from(KINDS), st.text(max_size=60))
def test_whatever_is_typed_is_a_size_there_is_or_a_refusal(kind: str, typed: str) -> None:
    try:
        assert size_of(kind, typed) in sizes(kind)
    except NoSuchSize as refused:
        assert str(refused).endswith(".")
