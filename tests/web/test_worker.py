"""The process of the accounts: it answers, it is replaced when it dies, and it ends without a word."""

import subprocess
import sys
import textwrap

import pytest

from lostgallon.web.worker import Worker
from tests.paper.cast import CASE


def test_a_process_that_died_is_replaced(tmp_path):
    worker = Worker(tmp_path)
    first = worker.submit(CASE)
    while not worker._processes:
        pass
    dead = worker._processes[0]
    dead.kill()
    with pytest.raises((EOFError, OSError)):
        first.result(60)
    account, trouble = worker.submit(CASE).result(120)
    assert worker._processes[0] is not dead
    assert trouble == ""
    assert account is not None
    assert account.loss.now_l_per_100km.p50 > account.loss.then_l_per_100km.p50
    worker.close()


def test_it_ends_in_the_middle_of_an_account_without_a_word(tmp_path):
    script = textwrap.dedent(
        f"""
        import time
        from pathlib import Path
        from lostgallon.web.worker import Worker
        from tests.paper.cast import CASE
        if __name__ == "__main__":
            worker = Worker(Path({str(tmp_path)!r}))
            worker.submit(CASE)
            time.sleep(1)
            worker.close()
        """
    )
    file = tmp_path / "ends.py"
    file.write_text(script, "utf-8")
    done = subprocess.run(
        [sys.executable, file], check=False, capture_output=True, text=True, timeout=60, env={"PYTHONPATH": "src:."}
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_two_lanes_compute_at_a_time_and_the_second_waits_for_the_first_answer(tmp_path):
    worker = Worker(tmp_path, lanes=2)
    first = worker.submit(CASE)
    assert first.result(120)[0] is not None
    answers = [worker.submit(CASE) for _ in range(4)]
    assert all(answer.result(120)[0] == first.result()[0] for answer in answers)
    assert set(worker._processes) == {0, 1}
    worker.close()
