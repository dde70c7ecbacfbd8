"""Onsets in a recording: the first sample over a threshold after silence, in each ear.

Prints JSON: {"left": [s, ...], "right": [s, ...]}. The recording is read with Python's own wave
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


print(json.dumps({"left": onsets(samples[:, 0]), "right": onsets(samples[:, 1])}))
