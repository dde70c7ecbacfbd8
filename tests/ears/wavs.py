"""Reads tracks with readers that are not the program's: Python's wave, sox, ffmpeg."""

import json
import struct
import subprocess
import wave

import numpy as np


def called(*command):
    """What another program printed (bytes); its failure is ours."""
    output = subprocess.run(command, capture_output=True)
    if output.returncode != 0:
        raise SystemExit(f"{command}: {output.stderr.decode()}")
    return output.stdout


def soxi(path):
    """sox's reading of the header: (rate, channels, bits, frames)."""
    fields = [called("sox", "--info", flag, str(path)) for flag in ("-r", "-c", "-b", "-s")]
    return tuple(int(field) for field in fields)


def ffprobe(path):
    """ffmpeg's reading of the header: (rate, channels, bits, frames)."""
    entries = "stream=sample_rate,channels,bits_per_sample,duration_ts"
    text = called("ffprobe", "-v", "error", "-show_entries", entries, "-of", "json", str(path))
    (stream,) = json.loads(text)["streams"]
    keys = ("sample_rate", "channels", "bits_per_sample", "duration_ts")
    return tuple(int(stream[key]) for key in keys)


def python_wave(path):
    """Python's reading: (rate, channels, bits, frames) and the samples, a row a frame.

    Before 3.12 the module knows no extensible header; None then, and for those files only.
    """
    try:
        with wave.open(str(path)) as track:
            data = track.readframes(track.getnframes())
            facts = track.getframerate(), track.getnchannels(), 8 * track.getsampwidth()
            return (*facts, track.getnframes()), integers(data, facts[2], facts[1])
    except wave.Error as error:
        if "65534" in str(error):
            return None
        raise


def integers(data, bits, channels):
    """Little-endian signed samples as integers, a row a frame."""
    if bits == 16:
        samples = np.frombuffer(data, "<i2")
    else:
        octets = np.frombuffer(data, np.uint8).reshape(-1, 3).astype(np.int32)
        samples = octets[:, 0] | octets[:, 1] << 8 | octets[:, 2] << 16
        samples = (samples ^ 0x800000) - 0x800000
    return samples.reshape(-1, channels)


def sox_samples(path, bits, channels):
    """Samples decoded by sox."""
    raw = ("-t", "raw", "-e", "signed-integer", "-L", "-b", str(bits))
    return integers(called("sox", "-D", str(path), *raw, "-"), bits, channels)


def ffmpeg_samples(path, bits, channels):
    """Samples decoded by ffmpeg."""
    data = called("ffmpeg", "-v", "error", "-i", str(path), "-f", f"s{bits}le", "-")
    return integers(data, bits, channels)


def header_bytes(path):
    """Bytes before the samples: docs/sources.md, "Files and formats", gives 44 for 16 bits; 68 for an extensible
    header, whose format chunk has 40 bytes instead of 16 (RIFF/WAVE, arithmetic)."""
    with open(path, "rb") as file:
        start = file.read(68)
    if start[:4] != b"RIFF" or start[8:16] != b"WAVEfmt ":
        raise SystemExit(f"{path} does not begin as RIFF/WAVE")
    (format_bytes,) = struct.unpack_from("<I", start, 16)
    sizes = (struct.unpack_from("<I", start, at)[0] for at in (4, 24 + format_bytes))
    riff_bytes, data_bytes = sizes
    if start[20 + format_bytes : 24 + format_bytes] != b"data":
        raise SystemExit(f"{path}: no data right after the format")
    return 28 + format_bytes, riff_bytes, data_bytes
