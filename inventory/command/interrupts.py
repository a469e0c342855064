"""Ctrl-C while a result is being put away: it is remembered, and heard afterwards."""

from __future__ import annotations

import contextlib
import os
import signal
import threading
from types import FrameType, TracebackType
from typing import Any, Self


class Interrupts:
    """Within the `with` statement Ctrl-C interrupts as ever, until `hold`: from then on it is remembered in `heard`."""

    def __init__(self) -> None:
        self.heard = False
        self._before: Any = None

    def hold(self) -> None:
        """Let nothing be interrupted from here to the end of the `with` statement."""
        if self._before is not None or threading.current_thread() is not threading.main_thread():
            return  # only the main thread hears of Ctrl-C
        if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
            self._before = signal.signal(signal.SIGINT, self._remember)

    def _remember(self, _number: int, _frame: FrameType | None) -> None:
        if not self.heard:
            self.heard = True
            with contextlib.suppress(OSError):  # not print: the signal may have come within one
                os.write(2, b"One moment: the plan is written first.\n")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if self._before is not None:
            signal.signal(signal.SIGINT, self._before)
            self._before = None
