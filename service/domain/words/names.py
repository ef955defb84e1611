"""The words of closed sets as people read them: keys stay English in facts, forms and JSON.

Most are said with `tr(word)`, for they are marked where their set is defined. Here stand those that another
language bends by what they are said of, a mark, a zone or a seam, and the sets that more than one page shows.
"""

from __future__ import annotations

from service.domain.words.speech import tr, trc


def mark_state(state: str) -> str:
    """How a mark stands: open, not sealed, sealed, withdrawn."""
    told = {
        "open": trc("mark", "open"),
        "not sealed": trc("mark", "not sealed"),
        "sealed": trc("mark", "sealed"),
        "withdrawn": trc("mark", "withdrawn"),
    }
    return told.get(state, state)


def zone_state(state: str) -> str:
    """How a zone stands, with what a ready list calls the others."""
    told = {
        "laying": trc("zone", "laying"),
        "held": trc("zone", "held"),
        "clear": trc("zone", "clear"),
        "ready to place": trc("zone", "ready to place"),
        "placed": trc("zone", "placed"),
        "placed without release": trc("zone", "placed without release"),
        "not ready": trc("zone", "not ready"),
        "withdrawn": trc("zone", "withdrawn"),
    }
    return told.get(state, state)


def penetration_state(state: str) -> str:
    """How a penetration stands."""
    told = {
        "open": trc("penetration", "open"),
        "not sealed": trc("penetration", "not sealed"),
        "sealed": trc("penetration", "sealed"),
        "withdrawn": trc("penetration", "withdrawn"),
    }
    return told.get(state, state)


def seam_state(state: str) -> str:
    """How a seam stands, in the words of a mark."""
    told = {
        "open": trc("seam", "open"),
        "not sealed": trc("seam", "not sealed"),
        "sealed": trc("seam", "sealed"),
        "withdrawn": trc("seam", "withdrawn"),
    }
    return told.get(state, state)


def edge_state(state: str) -> str:
    """How a described stretch of edge stands."""
    told = {
        "open": trc("edge", "open"),
        "not sealed": trc("edge", "not sealed"),
        "sealed": trc("edge", "sealed"),
        "withdrawn": trc("edge", "withdrawn"),
    }
    return told.get(state, state)


def lot_state(state: str) -> str:
    """How film laid of a lot stands."""
    told = {
        "laid": trc("lot", "laid"),
        "below the sheet": trc("lot", "below the sheet"),
        "withdrawn": trc("lot", "withdrawn"),
    }
    return told.get(state, state)


def step_state(state: str) -> str:
    """How a hold point stands."""
    told = {
        "signed": trc("hold point", "signed"),
        "refused": trc("hold point", "refused"),
        "not signed": trc("hold point", "not signed"),
    }
    return told.get(state, state)


_STATES = {
    "defect": mark_state,
    "mark": mark_state,
    "zone": zone_state,
    "penetration": penetration_state,
    "seam": seam_state,
    "termination": edge_state,
    "film lot": lot_state,
    "hold point": step_state,
}


def state_of(kind: str, state: str) -> str:
    """The state of a thing of this kind (`installed_states`, besides defect and zone)."""
    told = _STATES.get(kind)
    return told(state) if told else state


def thing_kind(kind: str) -> str:
    """What kind of thing it is, as `installed_states` names them."""
    told = {
        "defect": tr("defect"),
        "penetration": tr("penetration"),
        "seam": tr("seam"),
        "termination": tr("termination"),
        "film lot": tr("film lot"),
        "hold point": tr("hold point"),
    }
    return told.get(kind, kind)


def penetration_kind(kind: str) -> str:
    """What passes through the film."""
    return trc("penetration", "other") if kind == "other" else tr(kind)


def hold_cause(cause: str) -> str:
    """What a zone is held for."""
    return trc("cause", "other") if cause == "other" else tr(cause)
