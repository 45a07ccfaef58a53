"""Races: both sides timed in turns in one run, the best of each compared, and a table printed at the end."""

import os
import platform
import time
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version

import bracewright as bw
import numpy as np
import pytest

_PACKAGES = ("bracewright", "numpy", "scipy", "numba", "scikit-fem")
_TABLE = pytest.StashKey[list]()
_FAMILIES = pytest.StashKey[list]()
_GROWTH = pytest.StashKey[list]()
_TIMES = pytest.StashKey[list]()
AT_MOST = 3.0
ROUND_S = 0.08
ROUNDS = 7


@dataclass
class Line:
    """One row of the table."""

    what: str
    yardstick: str
    ours_s: float
    theirs_s: float
    goal: float | None
    accuracy: str

    @property
    def ratio(self) -> float:
        return self.theirs_s / self.ours_s


def _calls(run, round_s):
    start = time.perf_counter()
    run()
    first = time.perf_counter() - start
    if first < 0.1 * round_s:
        start = time.perf_counter()
        run()
        first = min(first, time.perf_counter() - start)
    return max(1, int(round_s / max(first, 1e-8)))


def in_turns(*runs, rounds=ROUNDS, round_s=ROUND_S):
    """Best seconds a call of each, timed in turns so that a busy moment of the machine falls on all of them."""
    calls = [_calls(run, round_s) for run in runs]
    best = [np.inf] * len(runs)
    for _ in range(rounds):
        for i, run in enumerate(runs):
            start = time.perf_counter()
            for _ in range(calls[i]):
                run()
            best[i] = min(best[i], (time.perf_counter() - start) / calls[i])
    return best


@pytest.fixture
def race(request):
    """race(what, ours, {name: (theirs, goal)}, accuracy): times them in turns and keeps the ratios. A third figure beside the
    goal says how many times over a yardstick that does a part of the work is counted."""

    def run(what, ours, yardsticks, accuracy="", **timing):
        names = list(yardsticks)
        times = in_turns(ours, *(yardsticks[n][0] for n in names), **timing)
        for name, t in zip(names, times[1:], strict=True):
            _, goal, over = (*yardsticks[name], 1)[:3]
            request.config.stash[_TABLE].append(Line(what, name, times[0], over * t, goal, accuracy))
        return times

    return run


@pytest.fixture
def costs(request):
    """costs(what, rectangle, other): how much slower a section family is that no yardstick has."""

    def run(what, rectangle, other):
        times = in_turns(rectangle, other)
        request.config.stash[_FAMILIES].append((what, times[0], times[1]))

    return run


@pytest.fixture
def takes(request):
    """takes(what, ours, goal_s): seconds of something that no yardstick does, beside what was asked for."""

    def run(what, ours, goal_s, **timing):
        request.config.stash[_TIMES].append((what, in_turns(ours, **timing)[0], goal_s))

    return run


@pytest.fixture
def grows(request):
    """grows(what, unit, sizes, make, floor): cost for growing sizes, against the least it could be."""

    def run(what, unit, sizes, make, floor=None):
        times = [in_turns(make(n), rounds=5, round_s=0.04)[0] for n in sizes]
        slope = float(np.polyfit(np.log(sizes), np.log(times), 1)[0])
        request.config.stash[_GROWTH].append((what, unit, list(sizes), times, slope, floor))
        return slope

    return run


def pytest_configure(config):
    config.stash[_TABLE] = []
    config.stash[_FAMILIES] = []
    config.stash[_GROWTH] = []
    config.stash[_TIMES] = []


def shown(seconds):
    for unit, scale in (("s", 1.0), ("ms", 1e3), ("us", 1e6)):
        if seconds * scale >= 1.0 or unit == "us":
            return f"{seconds * scale:.3g} {unit}"
    return ""


def _machine():
    name = platform.processor() or platform.machine()
    try:
        with open("/proc/cpuinfo") as f:
            name = next((line.split(":", 1)[1].strip() for line in f if line.startswith("model name")), name)
    except OSError:
        pass
    return f"{name}, {os.cpu_count()} cores, {platform.system()}, Python {platform.python_version()}"


def _versions():
    out = []
    for package in _PACKAGES:
        try:
            out.append(f"{package} {version(package)}")
        except PackageNotFoundError:
            out.append(f"{package} is not installed")
    return ", ".join(out)


def pytest_terminal_summary(terminalreporter, config):
    table, growth, taken = config.stash[_TABLE], config.stash[_GROWTH], config.stash[_TIMES]
    if not table and not growth and not taken:
        return
    say = terminalreporter.write_line
    say("")
    say(f"machine: {_machine()}")
    say(f"versions: {_versions()}")
    say(f"threads: bracewright {bw.threads()}, OpenBLAS {os.environ.get('OPENBLAS_NUM_THREADS', 'its own choice')}")
    if table:
        say("")
        say(f"{'what':<48}{'beside':<30}{'ours':>9}{'theirs':>10}{'ratio':>8}{'goal':>7}   accuracy of both")
        for t in table:
            goal = "" if t.goal is None else f"{t.goal:g}"
            short = "" if t.goal is None or t.ratio >= t.goal else "  NOT REACHED"
            times = f"{shown(t.ours_s):>9}{shown(t.theirs_s):>10}{t.ratio:>8.1f}"
            say(f"{t.what:<48}{t.yardstick:<30}{times}{goal:>7}   {t.accuracy}{short}")
    if taken:
        say("")
        say(f"{'what':<78}{'takes':>9}{'goal':>9}")
        for what, t, goal in taken:
            say(f"{what:<78}{shown(t):>9}{shown(goal):>9}{'' if t <= goal else '  NOT REACHED'}")
    families = config.stash[_FAMILIES]
    if families:
        say("")
        say(f"{'a parabolic cap beside the rectangle':<46}{'rectangle':>12}{'cap':>12}{'times':>8}{'at most':>9}")
        for what, ours, other in families:
            short = "" if other <= AT_MOST * ours else "  NOT REACHED"
            say(f"{what:<46}{shown(ours):>12}{shown(other):>12}{other / ours:>8.1f}{AT_MOST:>9g}{short}")
    for what, unit, sizes, times, slope, floor in growth:
        say("")
        say(f"{what}: cost goes as {unit} to the power {slope:.2f}" + (f"; the least it could be: {floor}" if floor else ""))
        say("   ".join(f"{n}: {shown(t)} ({shown(t / n)} each)" for n, t in zip(sizes, times, strict=True)))
