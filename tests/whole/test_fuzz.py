"""A seeded sample of forms and addresses nobody meant: 0 answers of 500. The campaign is in tests/long."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings

from tests.whole.asking import PROJECT_MANAGER, actor_of
from tests.whole.cells import PICTURED
from tests.whole.fuzzing import bent_addresses, bent_forms, look_bent, send_bent
from tests.whole.routes import Row
from tests.whole.stage import Stage

SAMPLE = 250
QUIET = settings(
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def try_forms(stage: Stage, examples: int) -> None:
    """Send bent forms as everybody on the project; the stage is put back where something may have landed."""
    clients = {actor.here: stage.client(actor, program=False) for actor in stage.actors if actor.here}

    @settings(QUIET, max_examples=examples)
    @given(bent=bent_forms())
    def send(bent: tuple[Row, str, list[tuple[str, str]]]) -> None:
        row, who, fields = bent
        answer = send_bent(clients[who], row, stage.ids, fields)
        if answer.status_code < 400 or answer.status_code >= 500:
            stage.put_back()
        assert answer.status_code < 500, f"{row} by the {who}: {fields}"

    send()


def try_addresses(stage: Stage, examples: int) -> None:
    manager = actor_of(stage, PROJECT_MANAGER)
    page, program = stage.client(manager, program=False), stage.client(manager, program=True)
    ids = stage.ids | PICTURED

    @settings(QUIET, max_examples=examples)
    @given(bent=bent_addresses())
    def look(bent: tuple[Row, dict[str, str], dict[str, str]]) -> None:
        row, odd, query = bent
        answer = look_bent(program if row.program else page, row, ids, odd, query)
        if row.path.endswith("/record"):  # the one GET that may append an entry, as the contract says
            stage.put_back()
        assert answer.status_code < 500, f"{row} {odd} {query}"

    before = stage.digest()
    look()
    assert stage.digest() == before, "looking changes nothing"


def test_no_form_makes_a_page_break(stage: Stage) -> None:
    try_forms(stage, SAMPLE)


def test_no_address_makes_a_page_or_a_call_break(stage: Stage) -> None:
    try_addresses(stage, SAMPLE)
