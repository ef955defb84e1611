"""Which failures mean that what we keep things in is out of reach or room for now: no fault of ours."""

from sqlalchemy.exc import OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.storage.blobs.store import StoreAway
from service.storage.doors.database import WriterBusy
from service.storage.history.books import AnotherKey


def is_outage(trouble: BaseException) -> bool:
    """True for a pool with no connection left, a lock not got in time, a full disk, a server gone away,
    a signing key that is not the history's, an object store that gives no answer."""
    return isinstance(trouble, PoolTimeout | OperationalError | WriterBusy | AnotherKey | StoreAway)
