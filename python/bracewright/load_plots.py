"""Pictures of what strings, years and winters do, with matplotlib: ``plot_...(value, ax=None) -> Axes``, as in ``plots``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .errors import InvalidInputError
from .plots import _BAND, _WOOD, _axes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

__all__ = ["plot_bridge", "plot_rotation_trend", "plot_season", "plot_stringing", "plot_tensions"]

_YEAR_H = 8766.0
_TICKS = (
    (1.0, "1 hour"), (24.0, "1 day"), (168.0, "1 week"), (730.5, "1 month"), (_YEAR_H, "1 year"), (20 * _YEAR_H, "20 years"),
)  # fmt: skip
_MONTHS = ("J", "F", "M", "A", "M", "J", "J", "A", "S", "O", "N", "D")


def plot_tensions(tensions: Any, ax: Axes | None = None) -> Axes:
    """The tension of each string, N, with two standard uncertainties; strings whose mass is not weighed are hatched."""
    ax = _axes(ax)
    strings = list(tensions.strings)
    at = np.arange(len(strings))
    pull = np.array([s.tension_n for s in strings], dtype=float)
    reach = _BAND * np.array([s.u_tension_n for s in strings], dtype=float)
    for guessed, hatch, name in ((False, "", "weighed, or plain steel"), (True, "///", "mass from gauge or packet: weigh it")):
        these = np.array([(s.kind not in ("weighed", "plain steel by gauge")) == guessed for s in strings], dtype=bool)
        if these.any():
            ax.bar(
                at[these], pull[these], width=0.7, facecolor=_WOOD + "4d", edgecolor="black", linewidth=0.8, hatch=hatch,
                label=name,
            )  # fmt: skip
    ax.errorbar(at, pull, yerr=reach, fmt="none", ecolor="black", capsize=5, elinewidth=1.4, label="two standard uncertainties")
    box = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}
    for k, s in enumerate(strings):
        ax.text(k, 0.5 * s.tension_n, f"{s.tension_n:.0f} N", ha="center", va="center", fontsize=9, bbox=box)
    ax.set_xticks(at, [s.note for s in strings])
    ax.set_ylim(0.0, 1.32 * float(np.max(pull + reach)))
    ax.set(
        xlabel="string", ylabel="tension, N",
        title=f"{len(strings)} strings pull {tensions.total_n:.0f} ± {_BAND * tensions.u_total_n:.0f} N",
    )  # fmt: skip
    ax.legend(frameon=False, fontsize=9, loc="upper left", ncols=3, columnspacing=1.2)
    return ax


def plot_bridge(load: Any, ax: Axes | None = None) -> Axes:
    """Bridge, top and string from the side, to scale, with the forces on the top and its couple; the tail is to the right."""
    bridge = load.bridge
    ax = _axes(ax, 8.0, 4.6)
    front, back = -bridge.saddle_from_front_mm, bridge.foot_width_mm - bridge.saddle_from_front_mm
    thick, high, end = bridge.top_thickness_mm, bridge.saddle_height_mm, bridge.end_height_mm
    behind = bridge.end_behind_mm
    left, right = front - 30.0, max(back, behind) + 38.0
    ax.fill_between([left, right], -thick, 0.0, facecolor=_WOOD + "4d", edgecolor="black", linewidth=1.2)
    if bridge.kind == "pin":
        ax.fill_between([front - 6.0, back + 6.0], -thick - 3.0, -thick, facecolor="none", edgecolor="black", hatch="///")
    edge, face = max(back, behind + 3.0), max(end, 0.3 * high)
    if bridge.kind == "pin":
        body = [(front, 0.0), (front, 0.5 * face), (-4.0, face), (behind + 3.0, face), (edge, 0.5 * face), (edge, 0.0)]
    else:  # the string runs free between the saddle and the block it is tied in
        block = min(face + 2.5, 0.95 * high)
        body = [
            (front, 0.0), (front, 0.4 * high), (-3.0, 0.6 * high), (3.0, 0.6 * high), (3.0, 0.5 * face),
            (behind - 3.0, 0.5 * face), (behind - 3.0, block), (edge - 1.0, block), (edge, 0.7 * block), (edge, 0.0),
        ]  # fmt: skip
    ax.fill(*zip(*body, strict=True), facecolor="0.85", edgecolor="black", linewidth=1.2)
    ax.fill([-1.2, -1.2, 1.2, 1.2], [0.3 * high, high, high, 0.3 * high], facecolor="white", edgecolor="black", linewidth=1.2)
    slope = np.tan(np.radians(bridge.neck_angle_deg))
    string: dict[str, Any] = {"color": "black", "linewidth": 2.2, "solid_capstyle": "round"}
    ax.plot([left, 0.0, behind], [high + slope * left, high, end], label="string", **string)
    if bridge.kind == "pin":
        ax.plot([behind, behind], [end, -thick - 4.5], **string)
        ax.plot(behind, -thick - 5.0, marker="o", markersize=8, color="black")
    else:
        ax.plot(behind, end, marker="o", markersize=7, color="black", markerfacecolor="white", zorder=5)
    arrow = {"arrowstyle": "-|>", "linewidth": 1.6, "color": "black", "mutation_scale": 15}
    note: dict[str, Any] = {"fontsize": 9, "ha": "center", "va": "center"}
    ax.annotate("", (left - 12.0, high + slope * (left - 12.0)), (left, high + slope * left), arrowprops=arrow)
    ax.text(left + 8.0, high + slope * left + 3.2, f"pull {load.total_n:.0f} N", **note)
    ax.annotate("", (0.0, high + 1.0), (0.0, high + 11.0), arrowprops=arrow)
    ax.text(0.0, high + 13.0, f"on the saddle {load.saddle_n:.0f} N", **note)
    low = -thick - 15.0
    if bridge.kind == "pin":
        ax.annotate("", (behind, -thick - 6.5), (behind, low), arrowprops=arrow)
        ax.text(behind, low - 2.4, f"ball ends lift the plate: {load.ends_up_n:.0f} N", **note)
    else:
        ax.annotate("tied here", (behind + 1.0, end), (edge + 4.0, end), fontsize=9, ha="left", va="center",
                    arrowprops={"arrowstyle": "-", "linewidth": 0.8, "color": "0.3"})  # fmt: skip
    ax.plot([left, right], [-0.5 * thick] * 2, color="0.4", linestyle="-.", linewidth=0.9)
    ax.annotate("", (front - 11.0, -0.5 * thick), (front - 11.0, high + slope * (front - 11.0)),
                arrowprops={"arrowstyle": "<->", "linewidth": 1.0, "color": "0.3"})  # fmt: skip
    ax.text(front - 13.0, 0.45 * high, f"{load.height_mm:.1f}", fontsize=9, ha="right", va="center")
    word = f"couple {load.couple_n_m:.1f} ± {_BAND * load.u_couple_n_m:.1f} N m:\nrises behind, sinks before"
    ax.text(back + 3.0, high + 10.0, word, fontsize=9, ha="left", va="center")
    ax.annotate("", (front - 20.0, low), (front - 20.0, -thick - 1.0), arrowprops=arrow)
    ax.text(front - 17.0, 0.5 * (low - thick), "sinks", fontsize=9, ha="left", va="center")
    ax.annotate("", (back + 32.0, 11.0), (back + 32.0, 1.0), arrowprops=arrow)
    ax.text(back + 33.5, 6.0, "rises", fontsize=9, ha="left", va="center")
    ax.set_aspect("equal")
    ax.set(xlim=(left - 14.0, right + 4.0), ylim=(low - 6.0, high + 17.0))
    ax.set(xlabel="mm behind the saddle", ylabel="mm above the top's face")
    ax.set_title(f"{bridge.kind.capitalize()} bridge from the side, break angle {load.break_angle_deg:.0f}°")
    return ax


def plot_stringing(plan: Any, read: Sequence[tuple[str, float]] | None = None, ax: Axes | None = None) -> Axes:
    """The rotation to expect at each stage of a first stringing with two standard uncertainties, where to stop, and what was
    read: pairs (name of the stage, degrees)."""
    ax = _axes(ax)
    stages = list(plan.stages)
    at = np.arange(len(stages))
    expect = np.array([s.rotation_deg for s in stages], dtype=float)
    reach = _BAND * np.array([s.u_rotation_deg for s in stages], dtype=float)
    stop = np.array([s.stop_deg for s in stages], dtype=float)
    low, high = expect - reach, expect + reach
    ax.fill_between(at, low, high, color="black", alpha=0.12, linewidth=0, label="two standard uncertainties")
    ax.plot(at, expect, color="black", marker="o", markerfacecolor="white", linewidth=1.4, label="to expect")
    ax.step(at, stop, where="mid", color="#7a2f1d", linestyle="--", linewidth=1.6)
    ax.plot(at, stop, color="#7a2f1d", linestyle="none", marker="_", markersize=16, markeredgewidth=2.6, label="stop above this")
    names = [s.name for s in stages]
    if read:
        for name, _ in read:
            if name not in names:
                message = f"read names the stage {name!r}; it must be one of: {', '.join(names)}"
                raise InvalidInputError(message)
        seen, degrees = [names.index(n) for n, _ in read], [d for _, d in read]
        ax.plot(seen, degrees, linestyle="none", marker="o", color="black", label="read")
    ax.axhline(plan.limit_deg, color="#7a2f1d", linewidth=1.2)
    ax.text(-0.4, plan.limit_deg, f"your limit after a month, {plan.limit_deg:g}°", ha="left", va="bottom", fontsize=9)
    ax.set_xticks(at, names)
    ax.set_xlim(-0.5, len(stages) - 0.5)
    ax.set_ylim(0.0, 1.15 * max(float(np.max(expect + reach)), plan.limit_deg))
    ax.set(ylabel="rotation of the bridge, degrees", title="First stringing, stage by stage")
    ax.legend(frameon=False, loc="lower right")
    return ax


def plot_rotation_trend(trend: Any, limit_deg: float | None = None, ax: Axes | None = None) -> Axes:
    """Rotation over log time: what was read, the line through it and the band for a further reading, out to 20 years."""
    ax = _axes(ax)
    hours, read = np.asarray(trend.hours, dtype=float), np.asarray(trend.rotation_deg, dtype=float)
    at = np.geomspace(0.7 * hours[0], 20.0 * _YEAR_H, 161)
    points = [trend.at_hours(h) for h in at]
    mid, low, high = (np.array([getattr(p, k) for p in points]) for k in ("rotation_deg", "low_deg", "high_deg"))
    ax.fill_between(at, low, high, color="black", alpha=0.12, linewidth=0, label=f"{100 * trend.coverage:g} % of readings")
    known = at <= hours[-1]
    ax.plot(at[known], mid[known], color="black", linewidth=1.6)
    ax.plot(at[~known], mid[~known], color="black", linewidth=1.6, linestyle="--", label="carried on")
    ax.plot(hours, read, linestyle="none", marker="o", color="black", label="read")
    box = {"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.85}
    for years, p in zip((1, 5, 20), trend.forecast, strict=True):
        ax.errorbar(p.hours, p.rotation_deg, yerr=[[p.rotation_deg - p.low_deg], [p.high_deg - p.rotation_deg]], fmt="s",
                    color="black", markerfacecolor="white", capsize=5, linewidth=1.2)  # fmt: skip
        # above and below by turns, so that no two cover one another
        at_end, shift, side = (p.high_deg, 6, "bottom") if years == 5 else (p.low_deg, -6, "top")
        ax.annotate(f"{years} y: {p.rotation_deg:.2f}°", (p.hours, at_end), xytext=(0, shift), textcoords="offset points",
                    ha="center", va=side, fontsize=9, bbox=box)  # fmt: skip
    if limit_deg is not None:
        ax.axhline(limit_deg, color="#7a2f1d", linewidth=1.2, linestyle="-")
        ax.text(at[0], limit_deg, f"  your limit, {limit_deg:g}°", ha="left", va="bottom", fontsize=9)
    ax.set_xscale("log")
    inside = [t for t in _TICKS if at[0] <= t[0] <= 1.01 * at[-1]]
    ax.set_xticks([t[0] for t in inside], [t[1] for t in inside])
    ax.minorticks_off()
    ax.set_xlim(at[0], 3.0 * at[-1])
    bottom, top = min(float(low.min()), float(read.min())), max(float(high.max()), float(read.max()), limit_deg or 0.0)
    ax.set_ylim(bottom - 0.22 * (top - bottom), top + 0.12 * (top - bottom))
    ax.set(xlabel="time under tension, each step of the scale tenfold", ylabel="rotation of the bridge, degrees")
    ax.set_title(f"Rotation over the years: {trend.per_decade_deg:+.2f}° each time the hours grow tenfold")
    ax.legend(frameon=False, loc="lower right", ncols=3)
    return ax


def plot_season(season: Any, axes: Sequence[Axes] | None = None) -> Sequence[Axes]:
    """A year on three axes: the air, the wood's moisture behind it, and what that does to the arch and to the crack index."""
    if axes is None:
        figure = _axes(None, 8.0, 8.6).figure
        figure.clear()
        axes = figure.subplots(3, 1, sharex=True)
    if len(axes) != 3:
        message = f"axes has {len(axes)} axes; it must have three: air and moisture, arch, crack index"
        raise InvalidInputError(message)
    top, middle, foot = axes
    day = np.asarray(season.day, dtype=float)
    mc, emc, arch, crack = (np.asarray(getattr(season, k)) for k in ("mc_percent", "emc_percent", "arch_mm", "crack_index"))
    dry = mc < season.glued_mc_percent
    shade: dict[str, Any] = {"facecolor": "none", "edgecolor": "0.6", "hatch": "///", "linewidth": 0}
    top.plot(day, emc, color="black", linestyle=":", linewidth=1.4, label="where the air would have it")
    top.plot(day, mc, color="black", linewidth=2.0, label="the wood")
    top.axhline(season.glued_mc_percent, color="0.4", linestyle="--", linewidth=1.0)
    top.text(day[-1], season.glued_mc_percent, "glued here ", ha="right", va="bottom", fontsize=9)
    top.fill_between(day, mc, season.glued_mc_percent, where=dry, **shade)
    span = float(np.ptp(np.concatenate([emc, mc, [season.glued_mc_percent]])))
    top.set_ylim(top=float(max(emc.max(), mc.max(), season.glued_mc_percent)) + 0.35 * span)
    rh = np.asarray(season.rh_percent)
    top.set(ylabel="moisture, %", title=f"Air from {rh.min():.0f} to {rh.max():.0f} % RH; hatched: drier than at gluing")
    top.legend(frameon=False, fontsize=9, ncols=2, loc="upper left")
    middle.plot(day, arch, color="black", linewidth=2.0)
    middle.axhline(season.built_arch_mm, color="0.4", linestyle="--", linewidth=1.0)
    middle.text(day[-1], season.built_arch_mm, "as built ", ha="right", va="bottom", fontsize=9)
    middle.fill_between(day, arch, season.built_arch_mm, where=arch < season.built_arch_mm, **shade)
    low, high = min(0.0, float(arch.min())), max(float(arch.max()), season.built_arch_mm)
    middle.axhline(0.0, color="#7a2f1d", linewidth=1.4)
    middle.text(day[0], 0.0, " flat", ha="left", va="bottom", fontsize=9)
    middle.set_ylim(low - 0.06 * (high - low), high + 0.16 * (high - low))
    k = int(np.argmin(arch))
    middle.plot(day[k], arch[k], marker="o", color="black")
    middle.annotate(f"{arch[k]:.2f} mm", (day[k], arch[k]), xytext=(0, -7), textcoords="offset points",
                    ha="left" if day[k] < 0.5 * day[-1] else "right", va="top", fontsize=9)  # fmt: skip
    middle.set(ylabel="arch, mm", title="Arch of the strip")
    foot.plot(day, crack, color="black", linewidth=2.0)
    foot.fill_between(day, crack, 0.0, **shade)
    foot.axhline(1.0, color="#7a2f1d", linewidth=1.4)
    # where the curve stays furthest from the line over the width of the words
    apart, wide = np.abs(crack - 1.0), len(crack) // 7
    places = range(wide, len(crack) - wide, 5)
    clear = max(places, key=lambda k: float(apart[k - wide : k + wide].min()))
    foot.text(day[clear], 1.0, "strength, the top held", ha="center", va="bottom", fontsize=9)
    foot.set_ylim(0.0, 1.2 * max(1.0, float(crack.max())))
    foot.set(ylabel="tension over strength", title="Crack index")
    month = day[-1] / 12.0
    for ax in axes:
        ax.set_xticks(month * (np.arange(12) + 0.5), _MONTHS)
        ax.set_xlim(0.0, day[-1])
    return axes
