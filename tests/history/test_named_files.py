"""Which files a fact names: all that any fact holds the SHA-256 of, but what is no file of the store."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, get_args
from unittest.mock import Mock

import pytest

from service.actions.record.files import FOLDERS, STAMPS
from service.history.facts.every_fact import Fact
from service.history.facts.named_files import NAMING, SMALL_PHOTO, files_of

# A name's and a link's hash open no file; a record's manifest goes out and is not kept.
NO_FILES = {"name_sha256", "manifest_sha256", "ready-list-opened token_sha256"}


@pytest.mark.parametrize("kind", get_args(Fact), ids=lambda kind: str(kind.type))
def test_every_hash_of_a_file_in_a_fact_is_told(kind: Any) -> None:
    named = [field.name for field in fields(kind) if "sha256" in field.name]
    hashes = [name for name in named if not {name, f"{kind.type} {name}"} & NO_FILES]
    fact = Mock(spec=kind, **{name: name for name in hashes})
    assert sorted(sha256 for _, sha256 in files_of(fact)) == sorted(hashes)
    assert (kind in NAMING) is bool(hashes)


def test_a_record_takes_every_file_along_but_the_small_photo() -> None:
    told = {what for kind in NAMING for what, _ in files_of(Mock(spec=kind))}
    assert told - set(FOLDERS) - set(STAMPS) == {SMALL_PHOTO}
