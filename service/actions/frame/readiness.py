"""Whether the service can do its work now: its database answers, and pictures can be kept."""

from __future__ import annotations

import logging

from service.actions.frame.desk import Desk
from service.storage.doors import readiness

logger = logging.getLogger("laptight")


def is_ready(desk: Desk) -> bool:
    """False where anything that every change needs is out of reach; why is logged."""
    try:
        with desk.reading() as session:
            readiness.answers(session)
        desk.blobs.is_reached()
    except Exception as trouble:  # whatever it is, no work can be done
        logger.warning("not ready: %s", type(trouble).__name__)
        return False
    return True
