#!/usr/bin/env python3
"""What read_capture --crossings computes of a WAV file, with SciPy and NumPy.  usage: peer_wav.py FILE"""
import sys

import numpy
import scipy.io.wavfile

rate, codes = scipy.io.wavfile.read(sys.argv[1])
volts = codes.astype(numpy.float32) / 32768
low = volts < (volts.min() + volts.max()) / 2
print("%d samples of %.6g s, %.6g to %.6g, %d crossings of the middle"
      % (len(volts), 1 / rate, volts.min(), volts.max(), numpy.count_nonzero(low[1:] != low[:-1])))
