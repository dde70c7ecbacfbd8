"""Onsets in a recording: the first sample over a threshold after silence, in each ear.

Prints JSON: {"left": [s, ...], "right": [s, ...], "loudest_db": [left, right]}, the last of them the
loudest 100 ms of each ear, by their mean power. The recording is read with Python's own wave
module. A voice rises within 5 ms, the same way each time, so that the crossing is constant for
one and the same sound; voices that begin together count once.
"""

import json
import sys
import wave

import numpy

THRESHOLD = 0.02
SILENCE_S = 0.12

with wave.open(sys.argv[1], "rb") as track:
    assert track.getsampwidth() == 2 and track.getnchannels() == 2, track.getparams()
    rate = track.getframerate()
    samples = numpy.frombuffer(track.readframes(track.getnframes()), "<i2").reshape(-1, 2) / 32768


def onsets(ear):
    loud = numpy.flatnonzero(abs(ear) > THRESHOLD)
    if not len(loud):
        return []
    first = numpy.concatenate(([True], numpy.diff(loud) > SILENCE_S * rate))
    return (loud[first] / rate).tolist()


def loudest_db(ear):
    power = numpy.concatenate(([0], numpy.cumsum(ear**2)))
    step = rate // 10
    return 10 * numpy.log10((power[step:] - power[:-step]).max() / step + 1e-12)


left, right = samples.T
print(json.dumps({"left": onsets(left), "right": onsets(right),
                  "loudest_db": [loudest_db(left), loudest_db(right)]}))
