#!/usr/bin/env python3
"""The main figures of `diagnose` for a CSV or WAV file, as an expert would script them with pandas, NumPy and SciPy.

usage: peer_figures.py FILE        states, edge times, overshoot, widths at three levels, bits and ring frequency, vectorised; no line fit
"""
import sys

import numpy
import scipy.io.wavfile
import scipy.signal

if sys.argv[1].endswith(".wav"):
    rate, codes = scipy.io.wavfile.read(sys.argv[1])
    interval, volts = 1 / rate, codes.astype(numpy.float32) * numpy.float32(8 / 32768)
else:
    import pandas
    table = pandas.read_csv(sys.argv[1])
    time, volts = (table.iloc[:, column].to_numpy() for column in (0, 1))
    interval = (time[-1] - time[0]) / (len(time) - 1)
    if numpy.abs(time - (time[0] + interval * numpy.arange(len(time)))).max() > 0.5 * interval:
        sys.exit("uneven times")

counts, borders = numpy.histogram(volts, 256)
low, high = (borders[numpy.searchsorted(counts.cumsum(), share * len(volts))] for share in (0.05, 0.95))
amplitude = high - low


def crossings(level):
    """Interpolated places, in samples, where the waveform passes the level, upwards and downwards."""
    above = volts > level
    at = numpy.flatnonzero(above[1:] != above[:-1])
    places = at + (level - volts[at]) / (volts[at + 1] - volts[at])
    return places[~above[at]], places[above[at]]


def next_after(places, others):
    """Distance from each place to the nearest later one of the others; NaN where there is none."""
    index = numpy.searchsorted(others, places)
    return numpy.append(others, numpy.nan)[index] - places


def middle(values):
    return numpy.nanmedian(values) * interval * 1e9 if len(values) else numpy.nan


up = {level: crossings(low + level * amplitude) for level in (0.1, 0.5, 0.9)}
rising = next_after(up[0.1][0], up[0.9][0])
falling = next_after(up[0.9][1], up[0.1][1])
high_width, low_width = next_after(*up[0.5]), next_after(*up[0.5][::-1])
bits = high_width * interval > 500e-9
at_input = [next_after(*crossings(level)) for level in (0.3 * 5, 0.7 * 5)]
starts = up[0.5][0].astype(int)
tops = numpy.maximum.reduceat(volts, starts) if len(starts) else numpy.array([numpy.nan])
reach = int(300e-9 / interval)
starts = starts[(starts > 0) & (starts + reach < len(volts))]
ring = "none"
if reach > 8 and len(starts):
    response = sum(volts[starts + offset].mean() * (numpy.arange(reach) == offset) for offset in range(reach))
    frequency, power = scipy.signal.periodogram(scipy.signal.detrend(response[reach // 8:]), 1 / interval, nfft=4096)
    ring = "%.2f MHz" % (frequency[power.argmax()] / 1e6)
print("%d samples of %.6g s; %.3f to %.3f V; 10-90 %.1f and %.1f ns; top %.3f V; high %.1f, low %.1f ns; at the input %.1f and %.1f ns; "
      "%d bits, %d ones; ring %s"
      % (len(volts), interval, low, high, middle(rising), middle(falling), tops.mean(), middle(high_width), middle(low_width),
         middle(at_input[0]), middle(at_input[1]), len(bits), numpy.count_nonzero(bits), ring))
