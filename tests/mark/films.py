"""Films whose frames carry their number, and what ffprobe says of the time of each frame."""

import subprocess

WIDTH, HEIGHT = 768, 360
BITS = 12
BLOCK = WIDTH // BITS

# Milliseconds of frame n: even, or in uneven groups of four, or as a phone in a dim hall
# that halves its rate for a while (frames 60 to 89) and starts late.
UNEVEN = "(floor(N/4)*140+eq(mod(N,4),1)*20+eq(mod(N,4),2)*50+eq(mod(N,4),3)*110)/1000/TB"
PHONE = "(40+N*1000/60+max(0,min(N,90)-60)*1000/60+mod(N*7,3)*0.6)/1000/TB"
VP8 = ["-c:v", "libvpx", "-b:v", "2M", "-deadline", "realtime", "-cpu-used", "8", "-g", "60"]
H264 = ["-c:v", "libx264", "-preset", "ultrafast", "-bf", "2", "-g", "60", "-pix_fmt", "yuv420p"]
MP4 = H264 + ["-video_track_timescale", "90000"]
# The time of frame n, how it is coded, and how many frames there are.
FILMS = {
    "even.webm": ("N/30/TB", VP8, 150),
    "uneven.webm": (UNEVEN, VP8, 150),
    "phone.mp4": (PHONE, MP4, 150),
    # A swim of twelve cycles at 60 frames a second, a little uneven as a phone's are.
    "swim.mp4": ("(N*1000/60+mod(N*7,3)*0.6)/1000/TB", MP4, 1680),
    # Two lengths of it, with a turn between them.
    "lengths.mp4": ("(N*1000/60+mod(N*7,3)*0.6)/1000/TB", MP4, 3540),
}


def pictures(frames):
    """Grey pictures; the number stands in blocks, the highest bit on the left."""
    for number in range(frames):
        row = bytearray()
        for bit in reversed(range(BITS)):
            row += bytes([235 if number >> bit & 1 else 16]) * BLOCK
        # The lower half is middle grey, and darkens a little with each frame.
        yield bytes(row) * (HEIGHT // 2) + bytes([160 - number // 2 % 128]) * (WIDTH * HEIGHT // 2)


def make(path, name):
    """Writes a film and gives the media time of each frame, in seconds, by ffprobe."""
    times, codec, frames = FILMS[name]
    command = ["ffmpeg", "-v", "error", "-y", "-f", "rawvideo", "-pix_fmt", "gray"]
    command += ["-s", "%dx%d" % (WIDTH, HEIGHT), "-r", "30", "-i", "-"]
    command += ["-vf", "settb=1/90000,setpts='%s'" % times, "-fps_mode", "passthrough"]
    command += ["-enc_time_base", "1:90000"] + codec + [path]
    with subprocess.Popen(command, stdin=subprocess.PIPE) as coder:
        for picture in pictures(frames):
            coder.stdin.write(picture)
    assert coder.returncode == 0, name
    probe = ["ffprobe", "-v", "error", "-select_streams", "v:0"]
    probe += ["-show_entries", "frame=pts_time", "-of", "csv=p=0", path]
    shown = subprocess.run(probe, check=True, capture_output=True, text=True).stdout
    found = [float(line.strip().rstrip(",")) for line in shown.split()]
    assert len(found) == frames, (name, len(found))
    return found


# Reads the number of the frame in the picture; -1 where the blocks are unclear.
READ_NUMBER = """
const film = document.getElementById("film");
const canvas = document.createElement("canvas");
[canvas.width, canvas.height] = [%d, %d];
const pen = canvas.getContext("2d");
pen.drawImage(film, 0, 0);
let number = 0;
for (let bit = 0; bit < %d; bit += 1) {
  const grey = pen.getImageData(bit * %d + %d, 60, 1, 1).data[0];
  if (grey > 80 && grey < 170) return -1;
  number = number * 2 + (grey > 125 ? 1 : 0);
}
return number;
""" % (WIDTH, HEIGHT, BITS, BLOCK, BLOCK // 2)
