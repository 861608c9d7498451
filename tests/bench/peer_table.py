#!/usr/bin/env python3
"""What read_capture --crossings computes of a CSV file, with pandas and NumPy.  usage: peer_table.py FILE"""
import sys

import numpy
import pandas

table = pandas.read_csv(sys.argv[1])
time, volts = (table.iloc[:, column].to_numpy() for column in (0, 1))
interval = (time[-1] - time[0]) / (len(time) - 1)
if numpy.abs(time - (time[0] + interval * numpy.arange(len(time)))).max() > 0.5 * interval:
    sys.exit("uneven times")
low = volts < (volts.min() + volts.max()) / 2
print("%d samples of %.6g s, %.6g to %.6g, %d crossings of the middle"
      % (len(volts), interval, volts.min(), volts.max(), numpy.count_nonzero(low[1:] != low[:-1])))
