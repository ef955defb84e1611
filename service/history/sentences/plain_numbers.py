"""The rule sheet's numbers and choices as they are named inside a sentence."""

from __future__ import annotations

from service.domain.words.speech import later

PLAIN = {
    "patch_overlap": later("patch overlap"),
    "lap": later("lap"),
    "tape_width": later("tape width"),
    "tape_temperature": later("tape temperature"),
    "collar_width": later("collar width"),
    "collar_length_factor": later("collar length factor"),
    "mastic_up_to": later("mastic up to"),
    "station_every": later("station every"),
    "film_class": later("film class"),
    "film_thickness": later("film thickness"),
    "most_permeance": later("most permeance"),
    "cut_allowance": later("cut allowance"),
    "second_look": later("second look"),
    "repair_methods": later("repair methods"),
    "gate_demands": later("gate demands"),
    "hold_points": later("hold points of its own"),
    "sets": later("ready-made sets"),
    "sources": later("where its choices come from"),
}
