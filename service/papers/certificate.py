"""A release's certificate on paper: what was released as it stood then, its proof, and what came since."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from service.history.certificate.proof import ProofWords, proof_words
from service.history.certificate.told import PLACED_UNDER, STANDS, Certificate
from service.history.certificate.words import words_of
from service.papers.drawing.scale_drawing import ScaleDrawing
from service.papers.setting.letters import Exact
from service.papers.setting.qr import qr_svg
from service.papers.setting.times import moment
from service.papers.setting.typeset import compile_pdf

# Signs on one line of what is copied letter by letter: more would not fit on a page's width.
LINE = 104
DRAWING, CODE = "drawing.svg", "code.svg"
NO_DRAWING = "The sketch had no scale at this release: the zone cannot be drawn true to it."


def certificate_pdf(told: Certificate, drawing: ScaleDrawing | None) -> bytes:
    """The certificate as PDF: the same bytes for the same certificate and drawing.

    It is dated by the entry it is told up to, not by the hour it is printed.
    """
    words, proof = words_of(told, lambda at: moment(at, told.time_zone)), proof_words(told)
    pictures = {CODE: qr_svg(proof.code)}
    if drawing is not None:
        pictures[DRAWING] = drawing.svg
    data = {
        "paper": "us-letter" if told.units == "us" else "a4",
        "letter": told.zone.letter,
        "kind": {STANDS: "ready", PLACED_UNDER: "ready"}.get(told.since.word, "stop"),
        "words": asdict(words),
        "drawing": _drawing(drawing),
        "proof": _proof(proof),
        "running": f"{words.title}, entry {told.seq:,}, {told.project_name}",
    }
    return compile_pdf("certificate", data, pictures, f"{words.title}, {told.project_name}", told.since.at)


def _drawing(drawing: ScaleDrawing | None) -> dict[str, Any]:
    if drawing is None:
        return {"none": NO_DRAWING}
    return {
        "none": "",
        "alt": drawing.label,
        "width_mm": drawing.width_mm,
        "height_mm": drawing.height_mm,
        "bar": drawing.bar.words,
        "key": drawing.key_words,
    }


def _proof(proof: ProofWords) -> dict[str, Any]:
    """The proof with its long lines broken: what is broken here and is one line by right ends with a sign."""
    return {
        **asdict(proof),
        "rows": [(what, Exact(value)) for what, value in proof.rows],
        "hashes": [(step, side, Exact(value)) for step, side, value in proof.hashes],
        "note": folded(proof.note.splitlines()),
        "entry": folded([proof.entry]),
        "code": folded(proof.code.splitlines()),
        "steps": [
            {"words": s.words, "commands": folded(s.commands.splitlines()), "prints": folded([s.prints])}
            for s in proof.steps
        ],
    }


def folded(lines: Iterable[str]) -> Exact:
    """Lines no longer than a page is wide; one that goes on after a break ends with `↩`."""
    told: list[str] = []
    for line in lines:
        pieces = [line[start : start + LINE] for start in range(0, len(line), LINE)] or [""]
        told += [f"{piece}↩" for piece in pieces[:-1]]
        told.append(pieces[-1])
    return Exact("\n".join(told))
