"""The worker process: answers Calc's calls, one JSON line for one JSON line, until input ends.

A question is `[name, [arguments]]`; an answer is a cell value or rows of them, an error being
`{"error": number}`. It says `ready` once it can be asked.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time

from xlfuncs.catalogue.registry import functions
from xlfuncs.hosts.libreoffice.answers import answering


class _Watch(threading.Thread):
    """Ends the process when an answer takes too long and nobody is left to kill it."""

    def __init__(self, limit: float) -> None:
        super().__init__(daemon=True)
        self.limit = limit
        self.since: float | None = None

    def run(self) -> None:
        while True:
            time.sleep(1)
            since = self.since
            if since is not None and time.monotonic() - since > self.limit:
                os._exit(1)


def main(time_limit: float) -> None:
    """Serve until the input ends; `time_limit` in seconds is what the asking side allows."""
    answers, sys.stdout = sys.stdout, sys.stderr  # a stray print must not look like an answer
    functions()
    answer = answering(lambda number: {"error": number})  # JSON has no NaN with a number in it
    watch = _Watch(2 * time_limit)
    watch.start()
    answers.write("ready\n")
    answers.flush()
    for line in sys.stdin:
        name, args = json.loads(line)
        watch.since = time.monotonic()
        answers.write(json.dumps(answer(name, args)) + "\n")
        answers.flush()
        watch.since = None
