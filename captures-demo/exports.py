"""Export shapes: each writes the stored samples the way some instrument or recorder lays out its files."""

import struct

import numpy as np

NOTE = "simulated: mill-pond footbridge (invented), circuit and scope model"


def _text(path, lines, newline="\n"):
    path.write_bytes((newline.join(lines) + newline).encode())


def _volts(values):
    """Two decimals: exact, since the converter's step is a multiple of 10 mV."""
    return [f"{value:.2f}" for value in values + 0.0]


def values_below_preamble(path, case, start_s, channels):
    (name, values), = channels.items()
    head = [f"Points,{len(values)},", f"Comment,{NOTE},", f"Source,{name} end,", "Vertical Units,V,", "Probe Factor,10,",
            f"Start Time,{start_s:.6E},", f"Sample Period,{1 / case.rate_hz:.6E},", "Data,"]
    _text(path, head + _volts(values))


def two_channel_values(path, case, start_s, channels):
    columns = [_volts(values) for values in channels.values()]
    head = [f"Points,{len(columns[0])},", f"Comment,{NOTE},", "Vertical Units,V,V",
            f"Start Time,{start_s:.6E},", f"Sample Period,{1 / case.rate_hz:.6E},", ",".join(channels)]
    _text(path, head + [",".join(row) for row in zip(*columns)])


def index_with_start_and_step(path, case, start_s, channels):
    (name, values), = channels.items()
    head = [f"N,{name} end simulated,Begin,Step,", f"Index,Volt,{start_s:.6e},{1 / case.rate_hz:.6e}"]
    _text(path, head + [f"{index},{value}," for index, value in enumerate(_volts(values))], "\r\n")


def semicolon_units_in_names(path, case, start_s, channels):
    (name, values), = channels.items()
    times = start_s + np.arange(len(values)) / case.rate_hz
    head = [f"# {NOTE}", f"Time (s);{name} end (V)"]
    _text(path, head + [f"{time:.8f};{value}" for time, value in zip(times, _volts(values))])


def decimal_comma(path, case, start_s, channels):
    (name, values), = channels.items()
    times = start_s + np.arange(len(values)) / case.rate_hz
    head = [f"time_s;simulated {name} end_V"]
    rows = [f"{time:.9f};{value}".replace(".", ",") for time, value in zip(times, _volts(values))]
    _text(path, head + rows, "\r\n")


def rounded_time_and_interval(path, case, start_s, channels):
    (name, values), = channels.items()
    times = start_s + np.arange(len(values)) / case.rate_hz
    head = [f"Comment,{NOTE}", f"Interval,{1 / case.rate_hz:.4e},", f"TIME,{name} end"]
    _text(path, head + [f"{time:.3e},{value}" for time, value in zip(times, _volts(values))])


def tab_units_in_parentheses(path, case, start_s, channels):
    (name, values), = channels.items()
    times = (start_s + np.arange(len(values)) / case.rate_hz) * 1e6
    head = [f"Time\t{name} end simulated", "(us)\t(V)", ""]
    _text(path, head + [f"{time:.3f}\t{value}" for time, value in zip(times, _volts(values))])


def logic_changes(path, case, start_s, channels):
    """A logic recorder: a comparator at 1.65 V without hysteresis, then a sample clock."""
    (name, values), = channels.items()
    high = values > 1.65
    changes = [0] + list(np.flatnonzero(high[1:] != high[:-1]) + 1) + [len(high) - 1]
    head = [f"Time [s],data at the {name} end simulated"]
    _text(path, head + [f"{start_s + index / case.rate_hz:.9f},{int(high[index])}" for index in changes])


def wav_placeholder_rate(path, case, start_s, channels):
    """16-bit PCM, full scale 8 V, header rate 48 kHz because the header cannot hold the true one; a text chunk first."""
    (_, values), = channels.items()
    data = np.round(values / 8.0 * 32768).clip(-32768, 32767).astype("<i2").tobytes()
    note = (NOTE + f"; true sample rate {case.rate_hz / 1e6:g} MS/s, full scale 8 V").encode() + b"\0"
    note += b"\0" * (len(note) % 2)
    info = b"INFOICMT" + struct.pack("<I", len(note)) + note
    chunks = (b"fmt " + struct.pack("<IHHIIHH", 16, 1, 1, 48000, 96000, 2, 16) + b"LIST" + struct.pack("<I", len(info)) + info
              + b"data" + struct.pack("<I", len(data)) + data)
    path.write_bytes(b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks)


WRITERS = {writer.__name__: writer for writer in (
    values_below_preamble, two_channel_values, index_with_start_and_step, semicolon_units_in_names, decimal_comma,
    rounded_time_and_interval, tab_units_in_parentheses, logic_changes, wav_placeholder_rate)}
