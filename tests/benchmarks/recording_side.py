"""Yardsticks for tap recordings, as a person with numpy and scipy writes them: a least-squares fit of the spectrum with the
amplitudes projected out (Golub and Pereyra 1973), and a matrix pencil on the decimated signal (Hua and Sarkar 1990)."""

import numpy as np
from scipy import linalg, optimize, signal

RATE_HZ = 48_000
SECONDS = 2.0
FREQUENCY_HZ = np.array([91.8, 168.4, 224.1, 331.5, 437.2, 588.6])
QUALITY = np.array([21.0, 28.0, 36.0, 43.0, 48.0, 57.0])
AMPLITUDE = np.array([0.30, 0.26, 0.20, 0.15, 0.11, 0.09])
LOW_HZ, HIGH_HZ = 40.0, 700.0


def tap(seed, noise=2e-3, seconds=SECONDS):
    """An invented tap that rings from the first sample, in white noise, in steps of 16 bits."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    turn = 2j * np.pi * FREQUENCY_HZ - np.pi * FREQUENCY_HZ / QUALITY
    y = (AMPLITUDE[:, None] * np.exp(turn[:, None] * t).imag).sum(0)
    y += np.random.default_rng(seed).normal(0, noise, y.size)
    return np.round(32768 * y) / 32768


def peaks(y, rate_hz=RATE_HZ, count=6):
    """First guess: the highest peaks of the padded spectrum, and their half-power widths."""
    size = 1 << 18
    step = rate_hz / size
    power = np.abs(np.fft.rfft(y, size)[: int(HIGH_HZ / step)]) ** 2
    at, _ = signal.find_peaks(10 * np.log10(power + 1e-30), prominence=4, distance=int(12 / step))
    at = at[at > LOW_HZ / step]
    at = np.sort(at[np.argsort(power[at])[-count:]])
    width = signal.peak_widths(power, at, rel_height=0.5)[0] * step
    return at * step, np.pi * width


def spectrum_fit(y, rate_hz=RATE_HZ, seconds=1.0):
    """Frequency and decay of six tones that fit the spectrum best; amplitudes and phases are solved for inside."""
    frequency, decay = peaks(y, rate_hz)
    n = round(seconds * rate_hz)
    hz = np.fft.rfftfreq(n, 1 / rate_hz)
    inside = (hz > LOW_HZ) & (hz < HIGH_HZ)
    seen = np.fft.rfft(y[:n])[inside]
    seen = np.concatenate([seen.real, seen.imag])
    turn = np.exp(-2j * np.pi * hz[inside] / rate_hz)[:, None]

    def shapes(p):
        s = -p[len(p) // 2 :] + 2j * np.pi * p[: len(p) // 2]
        z = np.exp(s / rate_hz)
        end = np.exp(s * n / rate_hz)
        own, mirror = (1 - end) / (1 - z * turn), (1 - end.conj()) / (1 - z.conj() * turn)
        both = np.hstack([own + mirror, 1j * (own - mirror)])
        return np.vstack([both.real, both.imag])

    def miss(p):
        basis = shapes(p)
        return seen - basis @ np.linalg.lstsq(basis, seen, rcond=None)[0]

    start = np.concatenate([frequency, decay])
    best = optimize.least_squares(miss, start, x_scale=np.abs(start), method="trf")
    half = len(start) // 2
    return best.x[:half], best.x[half:]


def matrix_pencil(y, rate_hz=RATE_HZ, down=30, samples=800, tones=6):
    """Frequency and decay from the shift of the signal's own subspace, after decimation."""
    low = signal.resample_poly(y, 1, down)[12 : 12 + samples]
    reach = samples // 3
    rows = linalg.hankel(low[: samples - reach], low[samples - reach - 1 :])
    _, _, right = linalg.svd(rows, full_matrices=False)
    space = right[: 2 * tones].T
    poles = np.log(linalg.eigvals(np.linalg.lstsq(space[:-1], space[1:], rcond=None)[0])) * rate_hz / down
    poles = poles[poles.imag > 0]
    poles = poles[np.argsort(poles.imag)]
    return poles.imag / (2 * np.pi), -poles.real


def misses(frequency_hz, decay_per_s):
    """Largest miss of frequency, Hz, and of decay, as a share; infinite when the tones are not six."""
    if len(frequency_hz) != len(FREQUENCY_HZ):
        return np.inf, np.inf
    truth = np.pi * FREQUENCY_HZ / QUALITY
    return float(np.max(np.abs(frequency_hz - FREQUENCY_HZ))), float(np.max(np.abs(decay_per_s / truth - 1)))
