"""Deciding at the bench and the virtual shop: times, and the shop beside the same shop in numpy and scipy."""

import hashlib
import os
import subprocess
import sys
from dataclasses import dataclass

import bracewright as bw
import numpy as np
import pytest

from . import shop_all, shop_one, shop_side

SECTION = bw.ShopSettings(beam="section")
RESOLVED = bw.ShopSettings(beam="resolved")
BRACES = 2000
ONE_BY_ONE = 40


@dataclass
class Scene:
    plan: bw.Plan
    rig: bw.Rig
    window: bw.Window
    limits: tuple  # low, target, high
    wood: tuple  # ratio of shear, density
    density_ln: float

    def ours(self, count, settings=SECTION, policy=None, seed=1):
        policy = policy or bw.ChanceRule()
        return bw.virtual_shop(
            self.plan, self.rig, window=self.window, policy=policy, count=count, seed=seed, settings=settings
        )

    def theirs(self, count, seed=2, root=shop_all.false_position):
        luck = shop_side.Fresh(np.random.default_rng(seed))
        return shop_all.shop(count, self.limits, *self.wood, luck, root=root, density_ln=self.density_ln)


def make():
    wood = bw.Wood.published("Sitka spruce")
    blank = bw.Blank(wood, length_mm=shop_side.LENGTH, width_mm=shop_side.WIDTH, height_mm=17.0, modulus_gpa=shop_side.E / 1000)
    start = target = bw.Profile.straight(shop_side.LENGTH, shop_side.TOP)
    for at in shop_side.HOLLOWS:
        target = target.with_scallop(at_mm=at, length_mm=2 * shop_side.REACH, depth_mm=shop_side.WHOLE)
    plan = bw.plan_passes(bw.Brace(blank, start), bw.Brace(blank, target), max_depth_mm=3)
    rig = bw.ThreePoint(
        span_mm=shop_side.SPAN,
        load_n=shop_side.LOAD,
        give_mm_per_n=shop_side.GIVE_MEAN,
        u_give_mm_per_n=shop_side.GIVE_SD,
        u_deflection_mm=0.006,
    )
    own = shop_side.LOAD * rig.section_compliance_mm_per_n(plan.at_depth(5.5))
    window = bw.Window(0.965 * own, 1.035 * own)
    limits = window.low_mm, window.target_mm, window.high_mm
    return Scene(plan, rig, window, limits, (wood.glt_el, blank.density_kg_m3 * 1e-6), blank.density_spread)


@pytest.fixture(scope="module")
def scene():
    return make()


# --- at the bench ---


def test_a_bench(takes, scene):
    """A depth-resolved brace: its curves, then a pass taken in with shavings and dial and the next one advised."""
    low, _, high = scene.limits
    fresh = lambda: bw.Bench(scene.plan, scene.rig, goal=scene.rig.between(low, high))  # noqa: E731
    first = scene.rig.expected(scene.plan.at_depth(0)).deflection_mm
    bench = fresh().after_reading(deflection_mm=1.02 * first)
    advised = bench.next_pass()
    left = scene.plan.at_depth(advised.depth_mm)
    off_g = scene.plan.at_depth(0).mass_g - left.mass_g
    carved = dict(shavings_g=0.97 * off_g, deflection_mm=1.02 * scene.rig.expected(left).deflection_mm)
    then = bench.after_pass(**carved)
    assert advised.depth_mm > 1 and then.removed_mm[0] == pytest.approx(advised.depth_mm, rel=0.15)
    takes("a bench: the curves of a depth-resolved brace", fresh, 30e-3)
    takes("a reading taken in and the next pass advised", lambda: bench.after_look(deflection_mm=1.02 * first).next_pass(), 2e-3)
    takes("a pass taken in, shavings and dial, and the next pass advised", lambda: bench.after_pass(**carved).next_pass(), 2e-3)
    takes("cut, or measure once more: what to measure", bench.what_to_measure, 2e-3)


# --- the two sides are the same shop ---


def test_the_curves_are_the_same(scene):
    curves = shop_side.Curves(*scene.wood)
    start = scene.plan.at_depth(0).mass_g
    for depth in (0.0, 1.7, 4.2, 5.5, 8.0):
        brace = scene.plan.at_depth(depth)
        ln, _, _, mass, _ = curves.at(np.array([depth]))[:, 0]
        assert np.exp(ln) == pytest.approx(scene.rig.section_compliance_mm_per_n(brace), rel=3e-4)
        assert curves.at(np.zeros(1))[3, 0] - mass == pytest.approx(start - brace.mass_g, abs=2e-3)


def test_the_stations_are_fine_enough():
    """After two passes, against stations many times as fine: 1e-4 (rms) in the deflection, no bias."""
    n = 300
    rows, rng = np.arange(n), np.random.default_rng(7)
    luck, aims = shop_side.Stored(n, 8), [rng.uniform(2, 5, n), rng.uniform(0.3, 2, n)]

    def own(s):
        hidden = shop_side.Hidden.drawn(s, luck, rows)
        for k, aim in enumerate(aims):
            hidden.carve(s, aim, 4e-4, luck.carve(k, rows))
        return hidden.own(s)

    off = own(shop_side.Stations()) / own(shop_side.Stations(8, 8)) - 1
    assert np.sqrt(np.mean(off**2)) < 1.5e-4 and abs(np.mean(off)) < 2e-5


def test_one_by_one_and_all_at_once_are_the_same(scene):
    """The same braces by both yardsticks: the same to rounding, but where a dial or a scale rounds the other way."""
    n = 40
    luck = shop_side.Stored(n, 5)
    curves, s = shop_side.Curves(*scene.wood), shop_side.Stations()
    one = shop_one.shop(n, scene.limits, curves, s, luck, density_ln=scene.density_ln)
    for root in (shop_all.false_position, shop_all.halved):
        every = shop_all.shop(n, scene.limits, *scene.wood, luck, root=root, density_ln=scene.density_ln)
        apart = np.abs(one.deflection - every.deflection)
        assert np.mean(apart < 1e-5) >= 0.9 and np.mean(one.passes == every.passes) >= 0.95


def test_the_rule_is_the_same(scene):
    """The yardstick's rule in the library's own shop, brace for brace beside the library's."""
    theirs = scene.ours(80, policy=shop_one.policy(shop_side.Curves(*scene.wood), scene.limits, scene.density_ln))
    ours = scene.ours(80)
    apart = np.abs(ours.deflection_mm - theirs.deflection_mm)
    same = [a.passes == b.passes for a, b in zip(ours.braces, theirs.braces, strict=True)]
    # the window is 0.1 mm wide; a dial that rounds the other way is worth some thousandths
    assert np.mean(apart < 1e-3) > 0.9 and np.mean(same) > 0.95


def sides(scene):
    """Tables of both sides, and how far apart they are in standard errors: shares, passes, grams."""
    ours, theirs = scene.ours(BRACES), scene.theirs(BRACES)
    mine = np.array([ours.too_soft, ours.in_window, ours.too_stiff, ours.passes, ours.grams_off])
    other = theirs.table(scene.limits)
    share = 0.5 * (mine[:3] + other[:3])
    spread = [*np.sqrt(share * (1 - share)), np.std(theirs.passes), np.std(theirs.grams)]
    return mine, other, (mine - other) / (np.array(spread) * np.sqrt(2 / BRACES))


def test_the_shop(race, scene):
    mine, other, apart = sides(scene)
    assert np.all(np.abs(apart) < 3.5), (mine, other)
    assert mine[1] > 0.9
    curves, s = shop_side.Curves(*scene.wood), shop_side.Stations()

    def one_by_one():
        luck = shop_side.Fresh(np.random.default_rng(4))
        return shop_one.shop(ONE_BY_ONE, scene.limits, curves, s, luck, density_ln=scene.density_ln)

    in_words = " and ".join(f"{100 * t[0]:.1f}/{100 * t[1]:.1f}/{100 * t[2]:.1f} % in {t[3]:.2f}" for t in (mine, other))
    race(
        f"virtual shop, {BRACES} section-beam braces",
        lambda: scene.ours(BRACES),
        {
            f"a brace at a time, {ONE_BY_ONE} scaled": (one_by_one, 50, BRACES / ONE_BY_ONE),
            "numpy, all at once": (lambda: scene.theirs(BRACES), 3),
            "numpy, all at once, halving": (lambda: scene.theirs(BRACES, root=shop_all.halved), None),
        },
        f"soft/in/stiff, passes: {in_words}",
        rounds=3,
    )


# --- to the end, and the same on any number of threads ---


def test_many_to_the_end(takes, scene):
    takes("2000 depth-resolved braces to the end", lambda: scene.ours(2000, RESOLVED), 10.0, rounds=1)
    takes("20,000 section-beam braces to the end", lambda: scene.ours(20_000), 10.0, rounds=1)


def fingerprint(scene):
    """Every figure of two small runs to its last bit."""
    out = hashlib.sha256()
    for settings, count in ((RESOLVED, 12), (SECTION, 60)):
        for b in scene.ours(count, settings).braces:
            out.update(np.array([b.first_mm, b.deflection_mm, b.passes, b.grams_off]).tobytes())
    return f"{bw.threads()} {out.hexdigest()}"


def test_the_same_on_any_number_of_threads(scene):
    def on(threads):
        script = "from tests.benchmarks import test_deciding as t; print(t.fingerprint(t.make()))"
        env = {**os.environ, "RAYON_NUM_THREADS": str(threads)}
        done = subprocess.run([sys.executable, "-c", script], env=env, check=True, capture_output=True, text=True, cwd=ROOT)
        return done.stdout.split()

    one, two, here = on(1), on(2), fingerprint(scene).split()
    assert (one[0], two[0]) == ("1", "2")
    assert one[1] == two[1] == here[1]


ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
