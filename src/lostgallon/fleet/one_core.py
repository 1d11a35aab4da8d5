"""A worker is one core and ends with the program that started it. Imports no library, for they look when they load."""

import multiprocessing
import os
import threading

THREADS_OF = ("POLARS_MAX_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")


def one_core() -> None:
    """Called first in a worker, before Polars and NumPy are loaded there."""
    os.environ.update(dict.fromkeys(THREADS_OF, "1"))
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """A program that is killed can't end its workers, and they would wait for work for good."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
