"""What to do about the weather and when to look again: sooner near the limit and when it worsens."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.nouns.placing import WeatherReading
from service.domain.weather.advice import CAUTIONS, Advice, advise, crew_heat, taping
from service.domain.weather.air import dew_point_mf
from service.domain.weather.evaporation import LIMITS, evaporation

NOON = datetime(2026, 7, 3, 17, tzinfo=UTC)
LIMIT = LIMITS["usual"]
WINDS = st.integers(0, 60_000)


def reading(
    *, minutes: int = 0, air: int = 70_000, concrete: int | None = 80_000, film: int | None = None,
    damp: int = 50_000, wind: int = 5_000, rain: bool = False,
) -> WeatherReading:  # fmt: skip
    return WeatherReading(NOON + timedelta(minutes=minutes), air, concrete, film, damp, wind, rain)


def codes(advice: Advice) -> list[str]:
    return [said.code for said in advice.do]


def cautions(one: WeatherReading, **more: int) -> list[str]:
    return [said.code for said in advise([one], LIMIT, **more).cautions]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("wind", "state", "minutes", "first"),
    [(0, "under", 120, "keep-looking"), (5_000, "under", 60, "keep-looking"),
     (8_000, "near", 30, "get-ready"), (20_000, "over", 15, "act")],
)  # fmt: skip
def test_nearer_the_limit_the_next_look_is_sooner(wind: int, state: str, minutes: int, first: str) -> None:
    """80 °F concrete, 70 °F air, 50 %: 0.05, 0.11, 0.15 and 0.34 lb/ft²/h by hand with Uno's formula."""
    advice = advise([reading(wind=wind)], LIMIT)
    assert (advice.state, advice.look_minutes, codes(advice)[0]) == (state, minutes, first)
    assert advice.look_at == NOON + timedelta(minutes=minutes)


@given(WINDS, WINDS)
def test_a_higher_rate_never_waits_longer(one: int, two: int) -> None:
    calm, windy = sorted((one, two))
    assert (
        advise([reading(wind=windy)], LIMIT).look_minutes <= advise([reading(wind=calm)], LIMIT).look_minutes
    )


@given(WINDS, WINDS)
def test_what_worsens_is_looked_at_sooner_and_what_does_not_as_before(before: int, now: int) -> None:
    alone = advise([reading(wind=now)], LIMIT)
    after = advise([reading(minutes=-60, wind=before), reading(wind=now)], LIMIT)
    grown = evaporation(80_000, 70_000, 50_000, now).worse - evaporation(80_000, 70_000, 50_000, before).worse
    assert after.rising == (grown >= 0.01)
    assert (after.look_minutes < alone.look_minutes) == after.rising
    assert after.look_minutes <= alone.look_minutes


def test_a_rise_since_yesterday_is_no_trend() -> None:
    assert not advise([reading(minutes=-181, wind=0), reading(wind=20_000)], LIMIT).rising
    assert advise([reading(minutes=-180, wind=0), reading(wind=20_000)], LIMIT).rising


def test_the_newest_reading_speaks_and_a_forecast_only_up_to_now() -> None:
    calm, windy = reading(wind=0), reading(minutes=60, wind=20_000)
    assert advise([windy, calm], LIMIT).state == "over"
    assert advise([windy, calm], LIMIT, now=NOON).state == "under"
    assert advise([windy], LIMIT, now=NOON).state == "unknown"


def test_without_a_reading_or_the_concretes_temperature_nothing_passes_for_calm() -> None:
    nothing = advise([], LIMIT)
    assert (nothing.state, nothing.look_at, codes(nothing)) == ("unknown", None, ["no-readings"])
    blind = advise([reading(concrete=None)], LIMIT)
    assert (blind.state, blind.rate, codes(blind), blind.look_minutes) == (
        "unknown",
        None,
        ["measure-concrete"],
        15,
    )
    assumed = advise([reading(concrete=None, wind=20_000)], LIMIT, assumed_concrete_mf=80_000)
    assert assumed.state == "over"
    assert "assumed-concrete" in [said.code for said in assumed.cautions]


def test_the_measures_stand_in_order_of_what_they_bring_and_say_it() -> None:
    """By hand with Menzel's formula: cold windy air leaves 0.57 of the rate with half the wind, 0.68 with
    concrete 10 °F cooler; hot damp air leaves nothing over concrete at 80 °F."""
    windy = advise([reading(air=45_000, concrete=80_000, wind=30_000)], LIMIT)
    hot = advise([reading(air=85_000, concrete=90_000, damp=85_000, wind=30_000)], LIMIT)
    assert codes(windy)[1] == "windbreak"
    assert codes(hot)[1] == "cool-concrete"
    halved = evaporation(90_000, 85_000, 85_000, 15_000).worse
    (told,) = [said.text for said in hot.do if said.code == "windbreak"]
    assert float(told.split(" be ")[1].split()[0]) == pytest.approx(halved, abs=0.01)
    assert {"fog", "windbreak", "cool-concrete", "reducer", "cover", "calm-hours"} <= set(codes(windy))


def test_in_the_cold_nobody_is_told_to_fog_to_wait_for_the_night_or_to_cool_the_concrete() -> None:
    cold = codes(advise([reading(air=40_000, concrete=69_999, damp=20_000, wind=40_000)], LIMIT))
    assert cold == ["act", "windbreak", "reducer", "cover"]
    milder = codes(advise([reading(air=40_001, concrete=70_000, damp=20_000, wind=40_000)], LIMIT))
    assert {"fog", "cool-concrete", "calm-hours"} <= set(milder)


@given(st.integers(40_000, 110_000), st.integers(40_000, 100_000), st.integers(0, 100_000), WINDS)
def test_any_weather_is_answered_with_a_state_and_something_to_do(
    air: int, concrete: int, damp: int, wind: int
) -> None:
    for units in ("us", "metric"):
        advice = advise([reading(air=air, concrete=concrete, damp=damp, wind=wind)], LIMIT, units)
        assert advice.state in ("under", "near", "over")
        assert advice.do
        assert all("{" not in said.text for said in advice.do)


def test_a_lower_limit_never_answers_more_calmly() -> None:
    order = ["under", "near", "over"]
    for wind in range(0, 40_000, 500):
        states = [
            advise([reading(wind=wind)], LIMITS[name]).state
            for name in ("low bleed 0.05", "directly on film", "usual")
        ]
        assert states == sorted(states, key=order.index, reverse=True)


@pytest.mark.parametrize(
    ("one", "found"),
    [
        (reading(rain=True), ["rain"]),
        (reading(air=32_000), ["frost"]),
        (reading(air=45_000, film=32_000), ["frost"]),
        (reading(air=32_001), ["cold"]),
        (reading(air=40_000), ["cold"]),
        (reading(air=40_001), []),
        (reading(concrete=95_000), []),
        (reading(concrete=95_001), ["hot-concrete"]),
        (reading(rain=True, air=30_000), ["rain", "frost"]),
    ],
)
def test_rain_frost_cold_and_hot_concrete_are_told(one: WeatherReading, found: list[str]) -> None:
    """40 °F: ACI 306R; 95 °F: ACI 305.1 (both from memory)."""
    assert cautions(one) == found


def test_an_assumed_hot_concrete_is_told_too() -> None:
    assert cautions(reading(concrete=None), assumed_concrete_mf=96_000) == [
        "assumed-concrete",
        "hot-concrete",
    ]


def test_film_at_its_dew_point_is_told_and_just_above_the_margin_is_not() -> None:
    """The margin of 5 °F is common practice, no source."""
    dew = dew_point_mf(70_000, 60_000)
    assert dew is not None
    found = {
        offset: [said.code for said in taping(reading(damp=60_000, film=dew + offset), None)]
        for offset in (-1, 0, 1, 5_000, 5_001)
    }
    at, near = ["film-at-dew-point"], ["film-near-dew-point"]
    assert found == {-1: at, 0: at, 1: near, 5_000: near, 5_001: []}


def test_taping_asks_for_the_films_temperature_and_never_passes_without() -> None:
    assert [said.code for said in taping(reading(film=None), 40_000)] == ["no-film-temperature"]
    assert [said.code for said in taping(reading(film=None, rain=True), None)] == [
        "rain",
        "no-film-temperature",
    ]


def test_film_colder_than_the_rule_sheet_tapes_on_is_told() -> None:
    dry = {"air": 60_000, "damp": 5_000}
    assert [said.code for said in taping(reading(film=39_999, **dry), 40_000)] == ["film-too-cold"]  # type: ignore[arg-type]
    assert taping(reading(film=40_000, **dry), 40_000) == ()  # type: ignore[arg-type]
    assert [said.code for said in taping(reading(film=32_000, **dry), None)] == ["frost"]  # type: ignore[arg-type]


def test_air_without_vapour_puts_no_dew_on_film() -> None:
    assert taping(reading(film=33_000, damp=0), None) == ()


def test_the_crews_heat_is_told_by_its_band() -> None:
    """90 °F at 70 % is 106 °F on the US National Weather Service's chart (from memory): high, by OSHA."""
    heat = crew_heat(reading(air=90_000, damp=70_000))
    assert heat.band == "high"
    assert heat.index_mf == pytest.approx(106_000, abs=1_000)
    assert heat.text.startswith("Heat: high risk.")


def test_the_cautions_defer_to_whoever_is_answerable() -> None:
    told = " ".join(CAUTIONS)
    for word in ("Local rules", "engineer of record", "maker", "licensed"):
        assert word in told
