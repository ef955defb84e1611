"""Parts that sentences about facts share: somebody's own words, and their note."""

from __future__ import annotations

from service.domain.words.speech import tr


def quoted(text: str) -> str:
    """Somebody's own words; their last full stop goes, for the sentence brings its own."""
    return f'"{text.removesuffix(".")}"'


def noting(text: str) -> str:
    """What stands after what was done, where somebody wrote a note."""
    return ", " + tr("noting {note}", note=quoted(text)) if text else ""
