"""Files sent as multipart: set aside on disk, told apart by their bytes where a request must land once."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import Response

from service.actions.sketches.pictures import arriving
from service.api.shared.calls import Call
from service.domain.words.refusals import BadInput

T = TypeVar("T")


def only(*names: str) -> Callable[[Request], Coroutine[Any, Any, None]]:
    """A dependency that refuses form fields of any other name."""

    async def check(request: Request) -> None:
        strange = sorted(set(await request.form()) - set(names))
        if strange:
            told = dict.fromkeys(strange, "There is no such field here.")
            raise BadInput("There is a field that is not known here.", fields=told)

    return check


def land_upload(
    call: Call, file: UploadFile, prepare: Callable[[Path], T], act: Callable[[T], BaseModel], more: str = ""
) -> Response:
    """201 for a file first taken in by `prepare`, with no transaction open, and then recorded by `act`.

    Two sendings are the same when the file's bytes and `more` are: a form's boundary differs every time.
    """
    digest = hashlib.file_digest(file.file, "sha256").hexdigest()  # type: ignore[arg-type]  # a binary file
    file.file.seek(0)

    def take_in() -> T:
        with arriving(call.desk, file.file) as source, _named_file():
            return prepare(source)

    return call.once_prepared(201, take_in, act, f"{digest}\n{more}".encode())


@contextmanager
def _named_file() -> Iterator[None]:
    """The form's field is called `file`, whatever the action calls it."""
    try:
        yield
    except BadInput as bad:
        bad.fields = {("file" if name == "photo" else name): told for name, told in bad.fields.items()}
        raise
