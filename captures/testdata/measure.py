#!/usr/bin/python3
"""What armcurve measure does with a clean capture, by pandas and scipy.

measure.py FILE CHANNEL TEETH MISSING [FULL_SCALE_V]

Reads a CSV (time in seconds in the first column) or a WAV, finds the teeth of a
wheel with one gap, and prints as JSON: teeth, speed of every turn as a range,
and by speed the mean peak, the weakest tooth and the noise.
"""
import json
import sys

import numpy as np
from scipy import ndimage, signal, stats

EDGES_RPM = np.arange(500, 8001, 100)
POINTS = 8  # per pitch, at which turns are compared with each other


def read(name, channel, full_scale_v):
    if name.endswith(".wav"):
        from scipy.io import wavfile

        rate, raw = wavfile.read(name)
        return rate, raw * (full_scale_v / 32768)
    import pandas

    frame = pandas.read_csv(name)
    time = frame.iloc[:, 0].to_numpy()
    return (len(time) - 1) / (time[-1] - time[0]), frame[channel].to_numpy()


def envelope(v, rate):
    """The local amplitude, one value for every sample."""
    block = int(rate / 20)
    tops = v[: len(v) // block * block].reshape(-1, block).max(axis=1)
    tops = ndimage.median_filter(tops, 3, mode="nearest")
    return np.interp(np.arange(len(v)), (np.arange(len(tops)) + 0.5) * block, tops)


def teeth_of(v, rate):
    """Falls through zero and the heights of the peaks before them."""
    v = signal.savgol_filter(v, 9, 2)  # or noise would lift the peaks
    peaks, _ = signal.find_peaks(v, height=0.4 * envelope(v, rate))
    falls = np.flatnonzero((v[:-1] > 0) & (v[1:] <= 0))
    falls = falls + v[falls] / (v[falls] - v[falls + 1])
    behind = np.searchsorted(falls, peaks)
    peaks, behind = peaks[behind < len(falls)], behind[behind < len(falls)]
    # Noise makes several maxima of one tooth: the highest counts.
    order = np.lexsort((-v[peaks], behind))
    peaks, behind = peaks[order], behind[order]
    first = np.append(True, np.diff(behind) > 0)
    peaks, falls = peaks[first], falls[behind[first]]
    a, b, c = v[peaks - 1], v[peaks], v[peaks + 1]
    bend = np.where(a - 2 * b + c < 0, a - 2 * b + c, -np.inf)
    return falls, b - (a - c) ** 2 / (8 * bend)


def turns_of(falls, missing):
    """The teeth with which whole turns begin: those behind the gap."""
    steps = np.diff(falls)
    usual = ndimage.median_filter(steps, 9, mode="nearest")
    return np.flatnonzero(steps > (0.5 + missing / 2 + 0.5) * usual) + 1


def main():
    name, channel, teeth, missing = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    rate, v = read(name, channel, float(sys.argv[5]) if len(sys.argv) > 5 else 1)
    v = v - np.median(v)
    falls, heights = teeth_of(v, rate)
    starts = turns_of(falls, missing)
    present = teeth - missing
    starts = starts[:-1][np.diff(starts) == present]  # whole turns
    starts = starts[starts + present < len(falls)]
    rpm = 60 * rate / (falls[starts + present] - falls[starts])
    of_turn = heights[starts[:, None] + np.arange(1, present)]  # the one behind the gap is left out

    # Every turn at the same angles, levelled: what differs from the turn before is noise.
    pitches = np.append(np.arange(present), teeth)
    angles = np.arange(teeth * POINTS) / POINTS
    where = falls[starts[:, None] + np.arange(present + 1)]
    at = np.stack([np.interp(angles, pitches, w) for w in where])
    left = at.astype(int)
    wave = v[left] + (at - left) * (v[left + 1] - v[left])
    change = (wave[1:] * (rpm[:-1] / rpm[1:])[:, None] - wave[:-1])[:, :present * POINTS]
    noise = np.sqrt(np.mean((change - np.mean(change, axis=1, keepdims=True)) ** 2, axis=1) / 2)

    def by_speed(values, what, speeds):
        return stats.binned_statistic(speeds, values, what, bins=EDGES_RPM).statistic

    mean = by_speed(of_turn.mean(axis=1), "mean", rpm)
    weakest = by_speed(of_turn.min(axis=1), "min", rpm)
    rms = by_speed(noise, "median", rpm[1:])
    middle = by_speed(rpm, "mean", rpm)
    json.dump({
        "teeth": len(falls), "low_rpm": rpm.min(), "high_rpm": rpm.max(),
        "by_speed": [{"rpm": a, "peak_v": b, "weakest_v": c, "noise_rms_v": d}
                     for a, b, c, d in zip(middle, mean, weakest, rms) if a == a],
    }, sys.stdout)


main()
