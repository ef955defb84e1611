"""More work never holds a zone that was clear, and more asked, found or logged as found never clears one.

Properties over a whole zone in which any few things went wrong (`tests.history.cases`).
"""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.nouns.installed import JOINT, LAP_AGAIN, Raised
from service.domain.nouns.rules import (
    GATE_DEMANDS,
    RAISABLE,
    REPLACE,
    SHEET_PATCH,
    STEPS,
    STRICTER_IS_LESS,
    TAPE_ONLY,
    Choice,
    Number,
    Permeance,
    RuleSheet,
    ready_made,
)
from service.domain.rule_sheet.effective import stricter, value_of
from service.domain.shapes.outlines import Circle
from service.domain.shapes.sides import Sides
from service.history.facts import facts as f
from service.history.facts import installed as g
from service.history.facts.every_fact import Fact
from tests.history.cases import CASES, Case
from tests.history.story import (
    INCH,
    MANAGER,
    Story,
    edge,
    edge_seal,
    look,
    mark,
    patch,
    pipe,
    repair,
    seal,
    seam,
    seam_walk,
    whole,
    work,
)

QUICK = settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
SIXTEENTH = INCH // 16

# Few wrongs: what clears a zone by mistake shows where little else holds it.
troubled = st.lists(st.sampled_from(CASES), max_size=2, unique_by=str)
asked_less = st.sets(st.sampled_from(GATE_DEMANDS)).map(
    lambda left: tuple(d for d in GATE_DEMANDS if d in left)
)


def story_of(wrongs: list[Case], sheet: RuleSheet | None = None) -> Story:
    """A whole zone in which these things went wrong, one after the other."""
    story = whole(sheet)
    for case in wrongs:
        story.tell(*case.wrong, who=case.who)
    return story


def changed_sheet(story: Story, **changes: object) -> Story:
    assert story.site.project is not None
    sheet = replace(story.site.project.sheet, **changes)  # type: ignore[arg-type]  # by name
    return story.tell(f.RuleSheetChanged(sheet, tuple(changes)), who=MANAGER)


def held_names(story: Story) -> set[str]:
    """What holds the zone: tags, lots, and the zone's letter."""
    return {blocker.name for blocker in story.standing().blockers}


KINDS = ["hole", "tear", "burn", "other", "open seam", "short lap", "unsealed penetration",
         "unsealed termination", "unbonded tape", "displaced sheet", "contamination"]  # fmt: skip
places = st.tuples(st.integers(100, 900), st.integers(100, 700))
found: st.SearchStrategy[Fact] = st.one_of(
    st.builds(lambda at, kind: mark("99", at, kind, Circle(2 * INCH)), places, st.sampled_from(KINDS)),
    st.builds(lambda at: pipe("99", at), places),
    st.just(seam("99")),
    st.builds(lambda side: edge("99", side), st.integers(1, 4)),
    st.just(f.ZoneHeld("hold", "zb", "B", "frost", "")),
)


@QUICK
@given(troubled, found)
def test_a_mark_a_pipe_a_seam_or_an_edge_more_never_clears_a_zone(wrongs: list[Case], more: Fact) -> None:
    story = story_of(wrongs)
    before = held_names(story)
    story.tell(more)
    assert story.standing().blockers, "what was just found has nothing logged on it"
    assert before <= held_names(story) | {"B", *_short_laps(story)}


def _short_laps(story: Story) -> set[str]:
    """A seam held for a short lap alone is held by the mark of that lap from then on."""
    return {"B-S1"} if "99" in story.site.defects and story.site.defects["99"].kind == "short lap" else set()


def _stricter_rules(sheet: RuleSheet, name: str, by: int) -> object:
    """The sheet's rule with a value that asks more by so much."""
    rule = getattr(sheet, name)
    value = value_of(rule)
    new = max(0 if name == "mastic_up_to" else 1, value - by) if name in STRICTER_IS_LESS else value + by
    return stricter(name, rule, Raised(name, new, "asked more"))


@QUICK
@given(troubled, st.sampled_from(RAISABLE), st.integers(1, 8 * INCH), st.booleans())
def test_raising_any_number_never_clears_a_zone(
    wrongs: list[Case], name: str, by: int, for_zone: bool
) -> None:
    story = story_of(wrongs)
    before = held_names(story)
    assert story.site.project is not None
    rule = _stricter_rules(story.site.project.sheet, name, by)
    if for_zone:
        raised = (Raised(name, value_of(rule), "asked more"),)  # type: ignore[arg-type]
        story.tell(g.NumbersRaised("zb", "B", raised, (name,)))
    else:
        changed_sheet(story, **{name: rule})
    assert before <= held_names(story)


CHOICES: list[tuple[dict[str, object], dict[str, object]]] = [
    ({"film_class": Choice("C", "x")}, {"film_class": Choice("B", "x")}),
    ({"film_class": Choice("", "x")}, {"film_class": Choice("A", "x")}),
    ({"film_thickness": Number(0, "x")}, {"film_thickness": Number(381_001, "x")}),
    ({"most_permeance": Permeance(0, "x")}, {"most_permeance": Permeance(9_999, "x")}),
    ({"most_permeance": Permeance(100_000, "x")}, {"most_permeance": Permeance(10_000, "x")}),
    ({"second_look": False}, {"second_look": True}),
    ({"hold_points": STEPS[:3]}, {"hold_points": STEPS}),
    ({"hold_points": STEPS}, {"hold_points": (*STEPS[:3], "drains flushed", *STEPS[3:])}),
    ({"repair_methods": (SHEET_PATCH, TAPE_ONLY, REPLACE)}, {"repair_methods": (SHEET_PATCH,)}),
]


@QUICK
@given(troubled, st.sampled_from(CHOICES))
def test_choosing_more_never_clears_a_zone(
    wrongs: list[Case], choice: tuple[dict[str, object], dict[str, object]]
) -> None:
    less, more = choice
    story = story_of(wrongs, replace(ready_made("us"), **less))  # type: ignore[arg-type]  # by name
    before = held_names(story)
    assert before <= held_names(changed_sheet(story, **more))


@QUICK
@given(troubled, asked_less, asked_less)
def test_asking_for_more_demands_never_clears_a_zone(
    wrongs: list[Case], few: tuple[str, ...], others: tuple[str, ...]
) -> None:
    more = tuple(d for d in GATE_DEMANDS if d in {*few, *others})
    story = story_of(wrongs, replace(ready_made("us"), gate_demands=few))
    before = story.told()
    assert before <= changed_sheet(story, gate_demands=more).told()


near = st.integers(-2, 2).map(lambda n: n * SIXTEENTH)
grown = st.sampled_from([0, 1, SIXTEENTH, INCH])


def _built(left: int, lap: int, wide: int, long: int, past: int, relap: int, tape: int) -> Story:
    """The zone with its sizes as built: all that a tape measure reads on it."""
    return whole().tell(
        f.PatchWithdrawn("p1", "01", "zb", "B-01", "again"),
        patch("p2", "01", (600, 200), sides=Sides(left, 6 * INCH, 6 * INCH, 6 * INCH), tape_width_nm=tape),
        look("k9", "p2", "01"),
        seam_walk("w2", "1", lap_nm=lap, work=work(tape_width_nm=tape)),
        seal("c2", "1", collar_width_nm=wide, collar_length_nm=long, work=work(tape_width_nm=tape)),
        g.TerminationWithdrawn("1", "zb", "B-E1", "a joint"),
        edge("5", 1, JOINT),
        edge_seal("es5", "5", runs_past_nm=past, protected=True, work=work(tape_width_nm=tape)),
        mark("09", (700, 600), "short lap"),
        repair("q9", "09", LAP_AGAIN, lap_nm=relap, taped=True, work=work(tape_width_nm=tape)),
        g.RepairLookedAt("k10", "q9", "09", "zb", "B-09", True, ""),
    )


@QUICK
@given(st.tuples(*[near] * 7), st.tuples(*[grown] * 7))
def test_more_overlap_a_longer_lap_a_bigger_collar_or_wider_tape_never_adds_a_fault(
    off: tuple[int, ...], more: tuple[int, ...]
) -> None:
    # 1.5 girths of a 4.5 in pipe: 21.2058 in, rounded up to a nanometre.
    least = (6 * INCH, 6 * INCH, 12 * INCH, 538_626_253, 6 * INCH, 6 * INCH, 4 * INCH)
    sizes = [a + b for a, b in zip(least, off, strict=True)]
    story, larger = _built(*sizes), _built(*(a + b for a, b in zip(sizes, more, strict=True)))
    assert larger.told() <= story.told()
    assert larger.faults() <= story.faults()
    assert bool(story.told()) == any(n < 0 for n in off), "just the least of everything is clear"


@QUICK
@given(troubled, st.sampled_from(CASES))
def test_a_thing_gone_wrong_more_never_clears_a_zone(wrongs: list[Case], more: Case) -> None:
    story = story_of([*wrongs])
    if story.standing().blockers:
        story.tell(*more.wrong, who=more.who)
        assert story.standing().blockers
