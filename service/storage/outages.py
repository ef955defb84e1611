"""Which failures mean that the database is out of reach or out of room for now, not that we have a fault."""

from sqlalchemy.exc import OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.storage.books import AnotherKey
from service.storage.database import WriterBusy


def is_outage(trouble: BaseException) -> bool:
    """True for a pool with no connection left, a lock not got in time, a full disk, a server gone away,
    a signing key that is not the history's."""
    return isinstance(trouble, PoolTimeout | OperationalError | WriterBusy | AnotherKey)
