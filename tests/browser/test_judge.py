"""The judgement on the phone against the service's own, over a thousand seeded marks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from service.domain.patches.overlap import Overlap, judge
from service.domain.patches.repair import SEALED, judge_defect
from service.domain.shapes.outlines import Circle, Polygon, cut_size, outline_to_json, reach_nm
from service.domain.words.measures import TOLERANCE_NM
from service.domain.words.temperatures import BadTemperature, parse_temperature
from service.web.marks.judge_pack import judge_pack, piece_json
from tests.browser.conftest import served
from tests.browser.ground import Ground, app_of
from tests.browser.judge_cases import LOTS, Case, cases

pytestmark = pytest.mark.browser
MANY = 1_000
# Bare damage is measured to 0.001 in, or to an 8192nd of the damage's reach: service/domain/patches/union.py.
BARE_WITHIN_NM = 25_400
OPPOSITE = {"left": "right", "right": "left", "near": "far", "far": "near"}

JUDGE = """async (asked) => { const { cutSize, judge, judgePatch } = await import("/static/judge.js");
  return asked.map((one) => {
    const damage = one.pack?.damage ?? one.damage;
    const told = one.pack ? judgePatch(one.pack, one.patch) : judge(damage, one.pieces, one.minimum);
    const cut = cutSize(damage, one.minimum, one.allowance);
    return { ...told, least: cutSize(damage, one.minimum), cut };
  }); }"""


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Iterator[Page]:
    with served(app_of(Ground())) as address:
        context = chromium.new_context()
        opened = context.new_page()
        opened.goto(f"{address}/pipe")
        yield opened
        context.close()


def asked(case: Case) -> dict[str, Any]:
    sizes = {"minimum": case.minimum_nm, "allowance": case.allowance_nm}
    if not case.work:
        pieces = [piece_json(piece) for piece in case.pieces]
        return {"damage": outline_to_json(case.damage), "pieces": pieces, **sizes}
    last = case.work[-1]
    before = replace(case.facts(), patches=case.work[:-1])
    patch = {
        "piece": piece_json(last.piece), "method": last.method, "cleaned": last.cleaned, "dry": last.dry,
        "edges_taped": last.edges_taped, "tape_width_nm": last.tape_width_nm, "film_mf": last.film_mf,
        "lot": case.lot,
    }  # fmt: skip
    return {"pack": judge_pack(before, case.numbers, LOTS), "patch": patch, **sizes}


def amiss(case: Case, told: dict[str, Any]) -> list[str]:
    """Where the phone says otherwise than the service."""
    found = []
    if tuple(told["cut"]) != cut_size(case.damage, case.minimum_nm, case.allowance_nm):
        found.append("cut size")
    if tuple(told["least"]) != cut_size(case.damage, case.minimum_nm):
        found.append("least size")
    if case.work:
        verdict = judge_defect(case.facts(), case.numbers)
        if told["sealed"] != (verdict.state == SEALED):
            found.append(f"sealed: {verdict.state}")
        if tuple(told["reasons"]) != verdict.reasons:
            found.append(f"reasons: {verdict.reasons}")
        return found
    return found + reach_amiss(case, told, judge(case.damage, case.pieces, case.minimum_nm))


def reach_amiss(case: Case, told: dict[str, Any], truth: Overlap) -> list[str]:
    assert truth.overlap_nm is not None
    apart = abs(told["overlap_nm"] - truth.overlap_nm)
    bare = truth.overlap_nm < 0 and told["overlap_nm"] < 0
    within = max(BARE_WITHIN_NM, reach_nm(case.damage) / 8192) if bare else TOLERANCE_NM
    if in_whole_numbers(case):
        within = 0
    found = []
    if told["meets"] != truth.meets:
        found.append(f"meets: {truth.meets}")
    if apart > within or told["short_by_nm"] != max(0, case.minimum_nm - told["overlap_nm"]):
        found.append(f"overlap: {truth.overlap_nm}, short by {truth.short_by_nm}")
    if told["side"] != truth.side and not (
        round_on_the_middle(case) and OPPOSITE[told["side"]] == truth.side
    ):
        found.append(f"side: {truth.side}")
    return found


def in_whole_numbers(case: Case) -> bool:
    """Readings, and one patch right on the middle of round damage, are judged with no float at all."""
    piece, *more = case.pieces
    middle = (
        piece.offset == (0, 0) and isinstance(case.damage, Circle) and not isinstance(piece.outline, Polygon)
    )
    return not more and (piece.sides is not None or middle)


def round_on_the_middle(case: Case) -> bool:
    """A round patch right on the middle of a straight cut reaches past both ends alike."""
    return (
        len(case.pieces) == 1
        and isinstance(case.pieces[0].outline, Circle)
        and case.pieces[0].offset == (0, 0)
    )


def test_the_phone_judges_a_thousand_patches_as_the_service_does(page: Page) -> None:
    tried = cases(5, MANY)
    answers = page.evaluate(JUDGE, [asked(case) for case in tried])
    wrong = [
        (i, case, told, faults)
        for i, (case, told) in enumerate(zip(tried, answers, strict=True))
        if (faults := amiss(case, told))
    ]
    for i, case, told, faults in wrong[:12]:
        print(i, case.family, case.damage, case.pieces, case.minimum_nm, told, faults)
    assert not wrong, [(i, case.family, faults) for i, case, _, faults in wrong[:40]]
    exact = [told for case, told in zip(tried, answers, strict=True) if told["overlap_nm"] == case.minimum_nm]
    assert len(exact) >= 150 and all(told["meets"] for told in exact), (
        "the rule itself must be tried, and meets"
    )


@pytest.mark.parametrize(
    "text",
    [
        "40 F",
        "40.001 °F",
        "4.5 C",
        "4.55c",
        "-5 deg C",
        "39.9999 F",
        "40",
        "4,5 C",
        "300 F",
        "-60 f",
        "93.4 C",
        "",
        "4.4444 C",
    ],
)
def test_a_temperature_is_read_on_the_phone_as_the_service_reads_it(page: Page, text: str) -> None:
    read = page.evaluate("""async (t) => (await import("/static/judge.js")).parseTemperature(t)""", text)
    try:
        truth: int | None = parse_temperature(text)
    except BadTemperature:
        truth = None
    assert read == truth


def test_what_is_left_to_the_service_is_not_judged_on_the_phone(page: Page) -> None:
    one = next(case for case in cases(5, 7) if case.work)
    whole = asked(one)
    whole["pack"]["laid"] = whole["pack"]["laid"] + [
        {"piece": piece_json(one.pieces[0]), "method": "sheet patch", "faults": []} for _ in range(40)
    ]
    script = """async (a) => (await import("/static/judge.js")).judgePatch(a.pack, a.patch)"""
    assert page.evaluate(script, whole) is None
    whole["pack"]["laid"] = whole["pack"]["laid"][:1]
    assert page.evaluate(script, whole)["side"] in OPPOSITE
