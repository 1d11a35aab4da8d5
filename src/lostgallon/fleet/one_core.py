"""A worker is one core: its libraries start no threads of their own. Imports nothing, for they look when they load."""

import os

THREADS_OF = ("POLARS_MAX_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")


def one_core() -> None:
    """Called first in a worker, before Polars and NumPy are loaded there."""
    os.environ.update(dict.fromkeys(THREADS_OF, "1"))
