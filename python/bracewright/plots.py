"""The pictures of the bench with matplotlib: ``plot_...(value, ax=None) -> Axes``.

matplotlib is imported when a picture is asked for, not before; the SVG that the core writes needs numpy alone.
Nothing depends on colour: lines differ in dash, areas in hatching. Units stand on every axis.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

__all__ = [
    "plot_brace", "plot_plan", "plot_plate_mode", "plot_profile", "plot_readings", "plot_recording", "plot_sensitivity",
    "plot_shapes", "plot_shop_run", "plot_stock", "plot_working",
]  # fmt: skip

_WOOD = "#c08a4a"
_HATCHES = ("///", "\\\\\\", "...", "|||")
_BAND = 2.0  # standard uncertainties to either side
_FINE = 401
_LEFT_END = "mm from the left end"


def _axes(ax: Axes | None, wide: float = 8.0, high: float = 4.5) -> Axes:
    """The axes given, or new ones sized for A5 across; says what to do when matplotlib is missing."""
    if ax is not None:
        return ax
    try:
        from matplotlib import pyplot as plt
    except ImportError as error:
        message = "matplotlib is needed for this picture (pip install matplotlib); the SVG pictures need numpy alone"
        raise ImportError(message) from error
    _, made = plt.subplots(figsize=(wide, high), layout="constrained")
    return made


def _side(ax: Axes, x_mm: np.ndarray, height_mm: np.ndarray, title: str) -> Axes:
    ax.fill_between(x_mm, height_mm, color=_WOOD, alpha=0.3, linewidth=0)
    ax.plot(x_mm, height_mm, color="black", linewidth=1.8)
    ax.set(xlabel=_LEFT_END, ylabel="height, mm", title=title)
    ax.set_xlim(float(x_mm[0]), float(x_mm[-1]))
    ax.set_ylim(0.0, 1.08 * float(np.max(height_mm)))
    return ax


def plot_brace(brace: Any, ax: Axes | None = None) -> Axes:
    """A brace from the side: height of the crest above the glue face, mm. Heights are drawn larger than lengths."""
    x_mm = np.linspace(0.0, brace.length_mm, _FINE)
    return _side(_axes(ax), x_mm, np.asarray(brace.along(x_mm).height_mm), "Brace from the side")


def plot_profile(profile: Any, ax: Axes | None = None) -> Axes:
    """A profile: height of the crest above the glue face, mm. Heights are drawn larger than lengths."""
    x_mm = np.linspace(0.0, profile.length_mm, _FINE)
    return _side(_axes(ax), x_mm, np.asarray(profile.height_mm(x_mm)), "Profile from the side")


def plot_working(working: Any, ax: Axes | None = None) -> Axes:
    """EI as drawn (dashed) and as it works (solid), N m2; what is drawn but not at work is hatched.

    Stations outside the couples of the definition, where the working stiffness is 0, are left out of its line.
    """
    ax = _axes(ax)
    x_mm, drawn, works = (np.asarray(v, dtype=float) for v in (working.x_mm, working.drawn_n_m2, working.working_n_m2))
    live = works > 0.0
    ax.fill_between(
        x_mm, works, drawn, where=live & (drawn > works), facecolor="none", edgecolor="0.35", hatch="////", linewidth=0,
        label="drawn, but not at work",
    )  # fmt: skip
    ax.plot(x_mm, drawn, color="black", linestyle="--", linewidth=1.4, label="as drawn")
    ax.plot(x_mm[live], works[live], color="black", linewidth=2.4, label="as it works")
    ax.set(xlabel=_LEFT_END, ylabel="EI, N m²", title="Stiffness along the brace: drawn, and at work")
    ax.set_ylim(bottom=0.0)
    ax.legend(frameon=False)
    return ax


def _middle_of_widest(inside: np.ndarray) -> int:
    """Index in the middle of the longest run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], inside, [False])).astype(int)))
    starts, ends = edges[::2], edges[1::2]
    k = int(np.argmax(ends - starts))
    return int((starts[k] + ends[k] - 1) // 2)


def plot_plan(plan: Any, ax: Axes | None = None) -> Axes:
    """The layers of a plan, hatched by turns; up to thirty carry the number of their pass where they are longest.

    Passes count as in the plan, the cap being the first where there is one; it takes no height and is not drawn.
    """
    ax = _axes(ax, high=5.0)
    x_mm = np.linspace(0.0, plan.start.length_mm, _FINE)
    end = np.asarray(plan.end.along(x_mm).height_mm)
    above = start = np.asarray(plan.start.along(x_mm).height_mm)
    _side(ax, x_mm, end, "What comes off, pass by pass")
    ax.set_ylim(0.0, 1.08 * float(np.max(start)))
    layers = [(number, p) for number, p in enumerate(plan.passes, 1) if p.cut_mm is not None]
    for k, (number, layer) in enumerate(layers):
        below = np.asarray(layer.after.along(x_mm).height_mm)
        cut = above - below > 1e-3
        hatch = _HATCHES[k % len(_HATCHES)] if len(layers) <= 30 else None
        ax.fill_between(x_mm, below, above, where=cut, facecolor="none", edgecolor="0.45", hatch=hatch, linewidth=0.6)
        if len(layers) <= 30 and cut.any():
            i = _middle_of_widest(cut)
            box = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
            ax.text(x_mm[i], 0.5 * (above[i] + below[i]), f"{number}", ha="center", va="center", fontsize=8, bbox=box)
        above = below
    ax.plot(x_mm, start, color="black", linewidth=1.2)
    return ax


def plot_readings(
    expected: Sequence[Any], goal: Any, read: Sequence[tuple[int, float, float]] | None = None, ax: Axes | None = None
) -> Axes:
    """The reading to expect after each pass of a plan, with two standard uncertainties either side, over the window.

    ``read`` holds what was read: (pass it was read after, reading, standard uncertainty); 0 is as it stands. Passes count as
    in the plan, the cap among them.
    """
    if goal.unit != "mm":
        message = f"the goal is in {goal.unit}; readings are drawn against the window of a reading, in mm"
        raise ValueError(message)
    from matplotlib.ticker import MaxNLocator

    ax = _axes(ax)
    step = np.arange(len(expected))
    mean = np.array([e.deflection_mm for e in expected], dtype=float)
    reach = _BAND * np.array([e.u_mm for e in expected], dtype=float)
    if goal.high > goal.low:
        ax.axhspan(goal.low, goal.high, facecolor="none", edgecolor="0.5", hatch="///", linewidth=1.0, label="window")
    else:
        ax.axhline(goal.low, color="black", linestyle="--", linewidth=1.2, label="goal")
    ax.fill_between(step, mean - reach, mean + reach, color="black", alpha=0.12, linewidth=0, label="two standard uncertainties")
    ax.plot(step, mean, color="black", marker="o", markerfacecolor="white", linewidth=1.4, label="to expect")
    if read:
        at, mm, u_mm = (np.array(v, dtype=float) for v in zip(*read, strict=True))
        ax.errorbar(at, mm, yerr=_BAND * u_mm, fmt="o", color="black", capsize=4, label="read")
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    ax.set(xlabel="passes of the plan done (0: as it stands)", ylabel="reading, mm", title="Readings against the window")
    ax.legend(frameon=False)
    return ax


def plot_sensitivity(sensitivity: Any, ax: Axes | None = None) -> Axes:
    """Percent of the stiffness on the rig lost per mm taken off at each place; the dearest places are hatched. Dots: the same
    per tenth of a gram taken there."""
    ax = _axes(ax)
    x_mm, lost = np.asarray(sensitivity.x_mm, dtype=float), np.asarray(sensitivity.percent_per_mm, dtype=float)
    bars = ax.bar(x_mm, lost, width=0.86 * sensitivity.place_mm, facecolor=_WOOD + "4d", edgecolor="black", linewidth=0.8)
    for bar, value in zip(bars, lost, strict=True):
        if value >= lost.max() - 0.002 * abs(lost.max()):
            bar.set_hatch("///")
    tenth = 0.1 * np.asarray(sensitivity.percent_per_gram, dtype=float)
    ax.plot(x_mm, tenth, linestyle="none", marker="o", markersize=4, color="black", markerfacecolor="white",
            label="% per 0.1 g taken there")  # fmt: skip
    ax.set(xlabel=_LEFT_END, ylabel="stiffness lost, % per mm (bars)", title="What a cut costs, place by place")
    ax.legend(frameon=False)
    return ax


_DEEP_DB = 70.0  # levels below this are not drawn
_DASHES = ("-", "--", "-.", ":")


def plot_recording(
    sound: Any,
    found: Any = None,
    tap: int | None = None,
    low_hz: float = 40.0,
    high_hz: float = 1000.0,
    axes: Sequence[Axes] | None = None,
) -> Sequence[Axes]:
    """A recording on three axes: the sound with its taps, the spectrum of one tap with its modes, and how each mode decays.

    ``found`` is what ``recording_modes`` found with the same band; looked for anew when left out. ``tap`` counts from 0;
    the first that shows modes when left out.
    """
    from ._core import recording_modes, tap_spectrum
    from .errors import InvalidInputError

    if found is None:
        found = recording_modes(sound, low_hz=low_hz, high_hz=high_hz)
    if tap is None:
        tap = next((k for k, t in enumerate(found.taps) if t.found is not None), 0)
    if tap >= len(found.taps) or found.taps[tap].found is None:
        message = f"tap is {tap}; it must be one of the {len(found.taps)} taps found, from 0, that shows modes"
        raise InvalidInputError(message)
    if axes is None:
        pyplot = _axes(None, 8.0, 9.0).figure
        pyplot.clear()
        axes = pyplot.subplots(3, 1)
    top, middle, foot = axes
    chosen = found.taps[tap]
    samples = sound.centred(found.checks.channel)
    _sound(top, samples, sound.rate_hz, found)
    start = round(chosen.tap.start_s * sound.rate_hz)
    record = samples[start : start + round(chosen.tap.usable_s * sound.rate_hz)]
    hz, db = tap_spectrum(sound.rate_hz, record, low_hz=low_hz, high_hz=high_hz)
    middle.plot(hz, np.maximum(db, -_DEEP_DB), color="black", linewidth=0.9)
    middle.set(xlabel="frequency, Hz", ylabel="level, dB", title=f"Spectrum of tap {tap + 1}, and its modes")
    middle.set_xlim(float(hz[0]), float(hz[-1]))
    middle.set_ylim(-_DEEP_DB, 14.0)
    modes = chosen.found.modes
    for k, mode in enumerate(modes, 1):
        middle.axvline(mode.frequency_hz, color="0.5", linestyle=":", linewidth=1.0)
        box = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
        middle.text(mode.frequency_hz, 5.0, f"{k}", ha="center", va="center", fontsize=9, bbox=box)
    _decays(foot, modes)
    return axes


def _sound(ax: Axes, samples: np.ndarray, rate_hz: float, found: Any) -> None:
    step = max(1, len(samples) // 1000)
    whole = samples[: len(samples) // step * step].reshape(-1, step)
    at_s = (np.arange(len(whole)) + 0.5) * step / rate_hz
    peak = max(float(np.max(np.abs(samples))), 1e-12)
    low, high = 100.0 * whole.min(1) / peak, 100.0 * whole.max(1) / peak
    ax.fill_between(at_s, low, high, facecolor=_WOOD, edgecolor="black", linewidth=0.4)
    for k, t in enumerate(found.taps, 1):
        ax.axvline(t.tap.onset_s, color="black", linestyle="--", linewidth=1.0)
        ax.annotate(f"{k}", (t.tap.onset_s, 104.0), annotation_clip=False, fontsize=8, ha="center")
    ax.set(xlabel="s", ylabel="of peak, %")
    ax.set_title("The sound, and its taps", pad=16.0)
    ax.set_xlim(0.0, len(samples) / rate_hz)
    ax.set_ylim(-100.0, 100.0)


def _decays(ax: Axes, modes: Sequence[Any]) -> None:
    ax.set(xlabel="s after the start of the record", ylabel="level, dB", title="How each mode decays")
    if not modes:
        return
    top = max(m.amplitude for m in modes)
    end_s = 1.3 * float(np.median([m.decay_time_s for m in modes]))
    t_s = np.linspace(0.0, end_s, 2)
    for k, m in enumerate(modes):
        level = 20.0 * np.log10(m.amplitude / top) - 60.0 * t_s / m.decay_time_s
        reach = _BAND * m.u_frequency_hz
        digits = int(np.clip(np.ceil(-np.log10(max(reach, 1e-4))), 1, 3))
        label = f"{k + 1}: {m.frequency_hz:.{digits}f} ± {reach:.{digits}f} Hz, Q {m.quality:.0f}"
        dash = _DASHES[k % len(_DASHES)]
        ax.plot(t_s, level, color="black", linestyle=dash, linewidth=1.0 + 0.5 * (k // len(_DASHES)), label=label)
    ax.set_xlim(0.0, end_s)
    ax.set_ylim(-_DEEP_DB, 3.0)
    ax.legend(frameon=False, fontsize=8, loc="upper right", title="± two standard uncertainties", title_fontsize=8)


def plot_plate_mode(advice: Any, ax: Axes | None = None) -> Axes:
    """A bare plate from above, to scale: the nodal lines of one mode (dashed), where to hold (rings), tap (cross) and listen
    (triangle)."""
    outline = np.asarray(advice.outline_mm, dtype=float)
    (x0, y0), (x1, y1) = outline.min(0), outline.max(0)
    ax = _axes(ax, 7.5, 1.8 + 6.0 * (y1 - y0) / (x1 - x0))
    ax.fill(outline[:, 0], outline[:, 1], facecolor=_WOOD + "4d", edgecolor="black", linewidth=1.8)
    for k, line in enumerate(advice.nodal_lines_mm):
        x_mm, y_mm = np.asarray(line, dtype=float).T
        ax.plot(x_mm, y_mm, color="black", linestyle="--", linewidth=1.4, label=None if k else "nodal line: still")
    hold = np.asarray(advice.hold_mm, dtype=float).reshape(-1, 2)
    how: dict[str, Any] = {"color": "black", "linestyle": "none", "zorder": 3, "clip_on": False}
    ax.plot(hold[:, 0], hold[:, 1], marker="o", markersize=12, markerfacecolor="none", markeredgewidth=1.8, label="hold", **how)
    ax.plot(*advice.tap_mm, marker="x", markersize=12, markeredgewidth=2.6, label="tap", **how)
    ax.plot(*advice.listen_mm, marker="^", markersize=11, label="listen", **how)
    ax.set(xlabel="along the grain, mm", ylabel="across the grain, mm")
    ax.set_title(f"Mode {advice.label}, near {advice.frequency_hz:.0f} Hz")
    ax.set_aspect("equal")
    ax.margins(0.03)
    ax.legend(frameon=False, ncols=4, loc="upper center", bbox_to_anchor=(0.5, -0.14))
    return ax


_MOST_SHAPES = 12


def plot_shapes(found: Any, axes: Sequence[Axes] | None = None) -> Sequence[Axes]:
    """Mode shapes of a roving tap, an axis a mode, at most twelve.

    Points on a line: a curve along it with two standard uncertainties. Points over a plate: discs, filled where it moves one
    way and open with a bar where it moves the other, their size how far; the plate to scale.
    """
    from .errors import InvalidInputError

    modes = list(found.modes)[:_MOST_SHAPES]
    if not modes:
        message = "found has no mode to draw"
        raise InvalidInputError(message)
    points = np.asarray(found.points_mm, dtype=float)
    span = np.ptp(points, axis=0)
    on_line = span.min() <= 0.02 * span.max()
    if axes is None:
        columns = 1 if on_line or len(modes) == 1 else 2
        rows = -(-len(modes) // columns)
        high = 1.7 * rows + 0.8 if on_line else rows * (1.0 + 7.0 / columns * span[1] / span[0])
        figure = _axes(None, 8.0, min(high, 16.0)).figure
        figure.clear()
        made = np.atleast_1d(figure.subplots(rows, columns, sharex=on_line)).ravel()
        for spare in made[len(modes) :]:
            spare.remove()
        axes = list(made[: len(modes)])
    if len(axes) < len(modes):
        message = f"axes has {len(axes)} axes; it must have one for each of the {len(modes)} modes"
        raise InvalidInputError(message)
    for ax, mode in zip(axes, modes, strict=False):
        shape = np.asarray(mode.shape, dtype=float)
        if on_line:
            place = points[:, int(span[1] > span[0])]
            order = np.argsort(place)
            reach = _BAND * np.asarray(mode.u_shape, dtype=float)[order]
            ax.axhline(0.0, color="0.5", linestyle="--", linewidth=1.0)
            ax.errorbar(place[order], shape[order], yerr=reach, color="black", marker="o", markersize=4, linewidth=1.4, capsize=2)
            ax.set(ylim=(-1.25, 1.25), ylabel="shape")
        else:
            _discs(ax, points, shape, span)
        mass = "" if mode.modal_mass_g is None else f", modal mass {mode.modal_mass_g:.3g} g"
        ax.set_title(f"{mode.frequency_hz:.2f} Hz, Q {mode.quality:.0f}{mass}", fontsize=10, loc="left")
    if on_line:
        axes[len(modes) - 1].set_xlabel("place along the line of taps, mm")
    return axes


def _discs(ax: Axes, points: np.ndarray, shape: np.ndarray, span: np.ndarray) -> None:
    """Discs no larger than the room between neighbours, so that none covers another."""
    from matplotlib.patches import Circle

    apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    room = 0.47 * min(float(apart[apart > 0.0].min()), 0.25 * float(span.max()))
    for (x_mm, y_mm), value in zip(points, shape, strict=True):
        radius = max(room * min(abs(value), 1.0), 0.04 * room)
        face = "black" if value > 0.0 else "white"
        ax.add_patch(Circle((x_mm, y_mm), radius, facecolor=face, edgecolor="black", linewidth=1.2))
        if value <= 0.0 and radius > 0.1 * room:
            ax.plot([x_mm - 0.6 * radius, x_mm + 0.6 * radius], [y_mm, y_mm], color="black", linewidth=1.2)
    (x0, y0), (x1, y1) = points.min(0) - 1.3 * room, points.max(0) + 1.3 * room
    ax.set(xlim=(x0, x1), ylim=(y0, y1), xlabel="x, mm", ylabel="y, mm")
    ax.set_aspect("equal")


_NAMED = 60  # with more blanks than this the names cover one another


def plot_stock(blanks: Sequence[Any], graded: Sequence[Any], pairing: Any = None, ax: Axes | None = None) -> Axes:
    """A graded delivery: density against E with one standard uncertainty; rings are kept, crosses go back, lines join pairs.

    Dotted lines are the same stiffness for the weight (GPa per g/cm3). ``graded`` is what ``grade`` made of the same blanks.
    """
    ax = _axes(ax, 8.0, 6.0)
    density = np.array([b.density_kg_m3 for b in blanks], dtype=float)
    modulus = np.array([b.modulus_gpa for b in blanks], dtype=float)
    u_density = np.array([b.u_density_kg_m3 for b in blanks], dtype=float)
    u_modulus = np.array([b.u_gpa for b in blanks], dtype=float)
    keep = np.array([not g.reasons for g in graded], dtype=bool)
    ax.errorbar(density, modulus, xerr=u_density, yerr=u_modulus, fmt="none", ecolor="0.75", elinewidth=0.9, zorder=1,
                label="one standard uncertainty")  # fmt: skip
    at = {b.name: (d, e) for b, d, e in zip(blanks, density, modulus, strict=True)}
    for k, pair in enumerate(pairing.pairs if pairing is not None else []):
        (d0, e0), (d1, e1) = at[pair.stiffer], at[pair.softer]
        ax.plot([d0, d1], [e0, e1], color="black", linewidth=1.6, zorder=2, label=None if k else "a pair of legs")
    ring: dict[str, Any] = {"linestyle": "none", "color": "black", "zorder": 3}
    ax.plot(density[keep], modulus[keep], marker="o", markerfacecolor="white", label=f"kept ({int(keep.sum())})", **ring)
    ax.plot(density[~keep], modulus[~keep], marker="x", markersize=8, label=f"goes back ({int((~keep).sum())})", **ring)
    ax.margins(0.08)
    (d0, d1), (e0, e1) = ax.get_xlim(), ax.get_ylim()
    low, high = 1000.0 * e0 / d1, 1000.0 * e1 / d0
    step = next(s for s in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0) if (high - low) / s <= 8)
    for specific in np.arange(np.ceil(low / step), high / step) * step:
        ends = np.array([max(d0, 1000.0 * e0 / specific), min(d1, 1000.0 * e1 / specific)])
        if ends[1] - ends[0] > 0.05 * (d1 - d0):
            ax.plot(ends, specific * ends / 1000.0, color="0.55", linestyle=":", linewidth=1.0, zorder=0)
            above = ends[1] < d1
            ax.annotate(f"{specific:g}", (ends[1], specific * ends[1] / 1000.0), xytext=(0, 3) if above else (4, 0),
                        textcoords="offset points", ha="center" if above else "left", va="bottom" if above else "center",
                        fontsize=8, color="0.4", annotation_clip=False)  # fmt: skip
    ax.set_xlim(d0, d1)
    ax.set_ylim(e0, e1)
    if len(blanks) <= _NAMED:
        _name(ax, density, modulus, [b.name for b in blanks])
    ax.set(xlabel="density, kg/m³", ylabel="E along the grain, GPa")
    ax.set_title("A delivery, graded; dotted: E over density, GPa per g/cm³", pad=16.0)
    ax.legend(frameon=False, ncols=4, loc="upper center", bbox_to_anchor=(0.5, -0.1))
    return ax


def _name(ax: Axes, x: np.ndarray, y: np.ndarray, names: Sequence[str]) -> None:
    """A name beside each point where there is room: to the right, the left, above, below; none where it would lie on
    something."""
    size = 7.0
    scale = ax.figure.dpi / 72.0
    at = ax.transData.transform(np.column_stack([x, y])) / scale
    taken = [(px - 4.5, py - 4.5, px + 4.5, py + 4.5) for px, py in at]
    for k, (px, py) in enumerate(at):
        name = names[k]
        wide = 0.62 * size * len(name)
        left, under = -5 - wide, -4 - size
        for dx, dy in ((5, 4), (5, under), (left, 4), (left, under), (-0.5 * wide, 6), (-0.5 * wide, under - 2)):
            box = (px + dx, py + dy, px + dx + wide, py + dy + size)
            if all(box[2] < o[0] or box[0] > o[2] or box[3] < o[1] or box[1] > o[3] for o in taken):
                ax.annotate(name, (x[k], y[k]), xytext=(dx, dy), textcoords="offset points", fontsize=size)
                taken.append(box)
                break


def plot_shop_run(run: Any, ax: Axes | None = None) -> Axes:
    """Where the braces of a virtual shop ended: how many at each deflection, mm, against the window."""
    ends = np.asarray(run.deflection_mm)
    window = run.window
    wide = window.high_mm - window.low_mm
    low, high = window.low_mm - 3 * wide, window.high_mm + 3 * wide
    # whole bars to the window, so that its limits are limits of bars; what lies further out stands in the last bar
    bars = np.linspace(low, high, 7 * 6 + 1)
    count, _ = np.histogram(np.clip(ends, low, high - 1e-9 * wide), bars)
    ax = _axes(ax)
    left = bars[:-1]
    parts = (
        ("too stiff", left < window.low_mm - 1e-9, "#9aa7b0", _HATCHES[2], run.too_stiff),
        ("in the window", (left > window.low_mm - 1e-9) & (left < window.high_mm - 1e-9), _WOOD, "", run.in_window),
        ("too soft for good", left > window.high_mm - 1e-9, "#7a2f1d", _HATCHES[0], run.too_soft),
    )
    for name, these, colour, hatch, share in parts:
        ax.bar(
            left[these], count[these], width=bars[1] - bars[0], align="edge", color=colour, hatch=hatch, edgecolor="black",
            linewidth=0.6, label=f"{name}: {100 * share:.1f} %",
        )  # fmt: skip
    for limit in (window.low_mm, window.high_mm):
        ax.axvline(limit, color="black", linestyle="--", linewidth=1.4)
    for outside, bar, side in ((ends < low, 0, "left"), (ends > high, -1, "right")):
        if outside.any():
            ax.annotate("and beyond", (left[bar] + 0.5 * (bars[1] - bars[0]), count[bar]), ha=side, va="bottom", fontsize=9)
    ax.margins(y=0.1)
    ax.set(
        xlabel="deflection of the finished brace, mm (stiff to the left, soft to the right)", ylabel="braces",
        title=f"{len(ends)} braces, {run.passes:.1f} passes and {run.grams_off:.1f} g off on average",
    )  # fmt: skip
    ax.legend(loc="upper left")
    return ax
