"""Lay lines of the building's grid on a sketch and take some away, leaving the others as they are."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, sketch_to_change
from service.actions.sketches.sketches import MOST_GRID_LINES
from service.actions.sketches.sketches import grid_line as read_line
from service.domain.nouns.site import Sketch
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.history.facts.facts import GridLaid

LineGiven = tuple[str, Sequence[float], Sequence[float]]


def add_lines(desk: Desk, by: str, sketch_id: str, lines: Sequence[LineGiven]) -> Sketch:
    """More lines: label and two points in pixels of today's picture for each."""
    with desk.writing() as session:
        seen, site = sketch_to_change(session, by, sketch_id, "lay the grid")
        laid = tuple(read_line(seen.sketch, *line) for line in lines)
        labels = [line.label for line in (*seen.sketch.grid, *laid)]
        twice = next((line.label for line in laid if labels.count(line.label) > 1), None)
        if twice:
            told = tr("There is a line {twice} already. Give this one another label.", twice=twice)
            raise BadInput(told, fields={"label": told})
        if len(labels) > MOST_GRID_LINES:
            told = tr("A grid has at most {most} lines.", most=MOST_GRID_LINES)
            raise BadInput(told, fields={"more": told})
        record(desk, session, site, by, seen.role, GridLaid(sketch_id, (*seen.sketch.grid, *laid)))
    return site.sketches[sketch_id]


def drop_lines(desk: Desk, by: str, sketch_id: str, labels: Collection[str]) -> Sketch:
    """Take these lines away. Conflict when somebody took one away before."""
    with desk.writing() as session:
        seen, site = sketch_to_change(session, by, sketch_id, "lay the grid")
        kept = tuple(line for line in seen.sketch.grid if line.label not in labels)
        if len(kept) + len(set(labels)) != len(seen.sketch.grid):
            raise Conflict(tr("Somebody changed the grid meanwhile. Look at it again, then choose."))
        if labels:
            record(desk, session, site, by, seen.role, GridLaid(sketch_id, kept))
    return site.sketches[sketch_id]
