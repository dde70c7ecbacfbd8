"""Films that are not: what a phone at a pool would record of a track, by numpy and scipy.

No line of this is shared with the program. What a hall, a phone and a crowd of swimmers do to a
sound is a model of common practice, without a source; no sound of a real pool is in it.

Usage: film_sync.py JOBS. JOBS is a file of JSON, one film a line:

out         the film to write: mono, 16 kHz, float32
track       the sound of the track in it: mono, 48 kHz, float32, or null for a film without cues
ahead_s     how much of that sound comes before the film's first sample
seconds     how long the film is
drift       by how much the track's clock runs faster than the film's, a share
snr_db      cues in the hall over noise, mean power over the whole film, 200 Hz to 7.6 kHz
drr_db      the sound that comes straight over all that is reflected
rt60_s      the time in which the hall's sound falls by 60 dB
levelled    whether the phone evens the level out
cleaned     whether the phone takes noise away
aac_kbps    AAC at that rate, there and back, or 0
words       a folder of spoken words, for those who talk by the pool
seed        of all that is drawn
"""

import json
import subprocess
import sys
import tempfile
from functools import lru_cache
from pathlib import Path

import numpy as np
from scipy import signal

RATE = 16_000
TRACK_RATE = 48_000


def hall(rng, rt60_s, drr_db):
    """What one click becomes: itself, a few walls, and a tail."""
    length = int(min(rt60_s, 2.0) * RATE)
    at = np.arange(length)
    tail = rng.standard_normal(length) * 10 ** (-3 * at / RATE / rt60_s)
    tail[: int(0.006 * RATE)] = 0
    tail = signal.lfilter([0.5, 0.5], [1], tail)
    walls = np.zeros(length)
    for _ in range(rng.integers(5, 11)):
        after = rng.uniform(0.0015, 0.04)
        loss = 0.9 if after < 0.015 else 0.6
        walls[int(after * RATE)] += rng.choice([-1, 1]) * rng.uniform(0.2, 0.7) * loss
    unit = lambda x: x / np.sqrt((x**2).sum())
    click = (0.55 * unit(walls) + 0.83 * unit(tail)) * 10 ** (-drr_db / 20)
    click[0] += 1
    return click


@lru_cache(maxsize=None)
def spoken(folder):
    files = sorted(Path(folder).glob("*.ogg"), key=lambda file: file.stat().st_size)[-6:]
    return [decoded(["-i", str(file)]) for file in files]


def decoded(source, sound=b""):
    command = ["ffmpeg", "-v", "error", *source, "-ac", "1", "-ar", str(RATE), "-f", "f32le", "-"]
    out = subprocess.run(command, input=sound, capture_output=True, check=True).stdout
    return np.frombuffer(out, np.float32)


def add(to, what, at):
    first, end = max(at, 0), min(at + len(what), len(to))
    if end > first:
        to[first:end] += what[first - at : end - at]


def pool(rng, length, words):
    """Water, splashes, talk and whistles, in a hall, of unit power."""
    bins = np.fft.rfft(rng.standard_normal(length))
    hz = np.fft.rfftfreq(length, 1 / RATE)
    water = np.fft.irfft(bins / np.maximum(hz, 60) ** 0.5, length)
    sound = water / water.std()
    seconds = length / RATE
    for _ in range(rng.poisson(seconds * rng.uniform(0.5, 3))):
        k = np.arange(int(rng.uniform(0.08, 0.4) * RATE)) / RATE
        band = [rng.uniform(150, 800), rng.uniform(1500, 7000)]
        b, a = signal.butter(2, band, "band", fs=RATE)
        splash = signal.lfilter(b, a, rng.standard_normal(len(k)))
        splash *= np.minimum(1, k / rng.uniform(0.001, 0.02)) * np.exp(-k / rng.uniform(0.02, 0.12))
        add(sound, splash * rng.uniform(2, 14), rng.integers(0, length))
    talk = np.zeros(length)
    said = spoken(words)
    for _ in range(int(rng.integers(1, 3) + seconds / 4)):
        one = said[rng.integers(len(said))]
        add(talk, one * rng.uniform(0.3, 1), rng.integers(-len(one) // 2, length))
    sound += talk / (talk.std() + 1e-9) * rng.choice([0, 0.5, 1.2])
    for _ in range(rng.poisson(seconds / 15)):
        k = np.arange(int(rng.uniform(0.15, 0.8) * RATE)) / RATE
        turn = 2 * np.pi * rng.uniform(1900, 3800) * k + 3 * np.sin(2 * np.pi * 30 * k)
        add(sound, np.sin(turn) * np.hanning(len(k)) ** 0.3 * rng.uniform(1, 5), rng.integers(0, length))
    far = signal.fftconvolve(sound, hall(rng, rng.uniform(0.8, 2), 0))[:length]
    sound = 0.6 * sound + 0.4 * far
    return sound / sound.std()


def levelled(sound):
    """A level that follows the loudness of the last 0.4 s."""
    keep = np.exp(-1 / (0.4 * RATE))
    level = signal.lfilter([1 - keep], [1, -keep], np.abs(sound)) + 0.02 * np.abs(sound).max()
    return sound * (level / level.mean()) ** -0.6


def cleaned(sound):
    """What stands little over the usual level of its pitch is turned down."""
    _, _, bins = signal.stft(sound, RATE, nperseg=512, noverlap=384)
    power = signal.lfilter([0.3], [1, -0.7], np.abs(bins) ** 2, axis=1)
    usual = 1.5 * np.quantile(power, 0.3, axis=1, keepdims=True)
    gain = np.maximum(1 - usual / np.maximum(power, 1e-12), 0.06) ** 0.5
    return signal.istft(bins * gain, RATE, nperseg=512, noverlap=384)[1][: len(sound)]


def coded(sound, kbps):
    """There and back. By a file, so that the edit list is written which says what comes before 0."""
    sound = (sound / np.abs(sound).max() * 0.6).astype(np.float32)
    raw = ["-f", "f32le", "-ar", str(RATE), "-ac", "1", "-i", "-"]
    with tempfile.TemporaryDirectory() as folder:
        file = folder + "/film.m4a"
        to = ["-ar", "48000", "-c:a", "aac", "-b:a", f"{kbps}k", file]
        command = ["ffmpeg", "-v", "error", *raw, *to]
        subprocess.run(command, input=sound.tobytes(), capture_output=True, check=True)
        return decoded(["-i", file])


def heard(job, length):
    """The track's sound on the film's clock, before any hall."""
    track = np.fromfile(job["track"], np.float32)
    finer = signal.resample_poly(track, 4, 1)
    at = (job["ahead_s"] + np.arange(length) / RATE * (1 + job["drift"])) * TRACK_RATE * 4
    return np.interp(at, np.arange(len(finer)), finer)


def film(job):
    rng = np.random.default_rng(job["seed"])
    length = int(job["seconds"] * RATE)
    sound = pool(rng, length, job["words"])
    if job["track"]:
        band = signal.butter(2, [200, 7600], "band", fs=RATE, output="sos")
        cues = signal.sosfilt(band, heard(job, length))
        cues = signal.fftconvolve(cues, hall(rng, job["rt60_s"], job["drr_db"]))[:length]
        sound += cues / (cues.std() + 1e-12) * 10 ** (job["snr_db"] / 20)
    if job["levelled"]:
        sound = levelled(sound)
    if job["cleaned"]:
        sound = cleaned(sound)
    if job["aac_kbps"]:
        sound = coded(sound, job["aac_kbps"])
    return sound.astype(np.float32)


for line in Path(sys.argv[1]).read_text().splitlines():
    job = json.loads(line)
    film(job).tofile(job["out"])
