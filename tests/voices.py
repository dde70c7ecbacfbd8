"""Measures rendered voices with numpy: no line of this is shared with the renderer.

Usage: voices.py FOLDER RATE. FOLDER holds NAME.f32 files: mono, 32-bit little-endian floats.
Prints lines of words: "voice NAME KEY VALUE" and "pair NAME NAME CORRELATION".
"""

import itertools
import pathlib
import sys

import numpy as np

FFT = 1 << 17  # frames; several times the longest voice, so that lags do not wrap round
BAND_HZ = (500.0, 4000.0)  # what bone conduction carries well
LAG_S = 0.020


def in_band(hz):
    return (hz >= BAND_HZ[0]) & (hz <= BAND_HZ[1])


def strongest_hz(samples, rate):
    """The frequency at the highest point of the spectrum."""
    return np.argmax(np.abs(np.fft.rfft(samples, FFT))) * rate / FFT


def envelope(samples):
    """The magnitude of the analytic signal, from 2000 frames before the first sample."""
    padded = np.concatenate([np.zeros(2000), samples, np.zeros(2000)])
    spectrum = np.fft.fft(padded, FFT)
    spectrum[1 : FFT // 2] *= 2
    spectrum[FFT // 2 + 1 :] = 0
    return np.abs(np.fft.ifft(spectrum))[: len(padded)]


def measure(samples, rate):
    """Every figure of one voice, by name."""
    power = np.abs(np.fft.rfft(samples, FFT)) ** 2
    band = in_band(np.fft.rfftfreq(FFT, 1 / rate))
    level = envelope(samples)
    peak = level.max()
    # A signal's second tone may be the louder one: its onset is the first one's.
    first = level[: 2000 + round(0.060 * rate)].max()
    begins, high = np.argmax(level >= 0.05 * first), np.argmax(level >= 0.9 * first)
    loud = np.nonzero(level >= 0.1 * peak)[0]
    late = level[2000 + round(0.120 * rate) :].max(initial=0.0)
    audible = samples[: loud[-1] - 2000]
    half = len(audible) // 2
    yield "length_ms", len(samples) / rate * 1000
    yield "pitch_hz", strongest_hz(samples, rate)
    yield "pitch_early_hz", strongest_hz(audible[:half], rate)
    yield "pitch_late_hz", strongest_hz(audible[half:], rate)
    yield "attack_ms", (high - begins) / rate * 1000
    yield "within_20_db_ms", (loud[-1] - loud[0]) / rate * 1000
    yield "after_120_ms_db", 20 * np.log10(max(late / peak, 1e-9))
    yield "band_share", power[band].sum() / power.sum()
    yield "band_energy_db", 10 * np.log10(power[band].sum() / rate)


def correlations(voices, rate):
    """The largest normalised cross-correlation of each pair, in the band, within the lags."""
    band = in_band(np.fft.rfftfreq(FFT, 1 / rate))
    spectra = {name: np.fft.rfft(samples, FFT) * band for name, samples in voices.items()}
    energy = {name: (np.fft.irfft(s, FFT) ** 2).sum() for name, s in spectra.items()}
    lags = round(LAG_S * rate)
    for a, b in itertools.combinations(voices, 2):
        product = np.fft.irfft(spectra[a] * np.conj(spectra[b]), FFT)
        near = np.concatenate([product[: lags + 1], product[-lags:]])
        yield a, b, np.abs(near).max() / np.sqrt(energy[a] * energy[b])


def main(folder, rate):
    files = sorted(pathlib.Path(folder).glob("*.f32"))
    voices = {file.stem: np.fromfile(file, "<f4").astype(float) for file in files}
    for name, samples in voices.items():
        for key, value in measure(samples, rate):
            print("voice", name, key, value)
    for a, b, value in correlations(voices, rate):
        print("pair", a, b, value)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
