"""How an integer program is put to OR-Tools CP-SAT: one thread, a fixed seed, a time or an amount of work, Ctrl-C heard."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

from ..budget import Budget


def new_solver(seed: int) -> Any:
    """A CP-SAT solver of one thread and a fixed seed: the same question gives the same answer."""
    from ortools.sat.python import cp_model

    solver: Any = cp_model.CpSolver()
    solver.parameters.num_search_workers = 1
    solver.parameters.random_seed = seed % 2**31
    return solver


def held(solver: Any, budget: Budget, seconds: float, work: float) -> None:
    """Hold a solve to so many seconds; where steps limit the search to so much work instead, which the clock does not cut."""
    if budget.steps is None:
        solver.parameters.max_time_in_seconds = seconds
    else:
        solver.parameters.max_time_in_seconds = max(seconds, budget.time_left())
        solver.parameters.max_deterministic_time = work


def solved(solver: Any, model: Any) -> Any:
    """Solve in a thread of its own, so that Ctrl-C is heard: it stops the solver, which keeps its best, and goes on."""
    solver.parameters.catch_sigint_signal = False  # the solver would take the signal away from Python for good
    with ThreadPoolExecutor(1) as thread:
        job = thread.submit(solver.solve, model)
        while True:
            try:
                return job.result(timeout=0.2)
            except TimeoutError:
                continue
            except KeyboardInterrupt:
                solver.stop_search()
                raise
