"""The one way this layer says no to an upload: a stable code and a plain sentence."""

from __future__ import annotations


class BadPicture(ValueError):
    """An upload that cannot be made into a safe picture.

    `code` is stable and meant for programs; `message` is a plain sentence for the person who uploaded.
    Codes: `empty`, `too-large`, `not-a-picture`, `heic`, `animated`, `too-narrow`, `too-many-pixels`,
    `picture-truncated`, `picture-damaged`, `picture-too-hard`, `pdf-locked`, `pdf-empty`, `pdf-damaged`,
    `page-missing`, `too-busy`.
    """

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
